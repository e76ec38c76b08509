"""What stands around the marks in every picture: the panel's edge, clock numbers, a true scale, the centre cross."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.overlay import shapes
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import Canvas, Lettering, Pen
from aligncheck.overlay.colours import BONE
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.lettering import text_width
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.scale import lay_scale
from aligncheck.overlay.view import Box, View, to_edge

Floats = NDArray[np.float64]

#: In q.
EDGE, NUMBER, NUMBER_OUT, NUMBER_BEYOND, CROSS = 1.2, 12.5, 11.5, 15.0, 12.0
CROSS_PEN = Pen(1.8, 4.0, BONE)
HOURS = range(1, 13)


class FrameLayer:
    """The panel itself, under everything else that is drawn.

    `busy_px` (n, 2) is where arrows begin; `cross` whether the centre is marked: a painted dot that lies there is not.
    """

    def __init__(self, view: View, lane: Lane, busy_px: Floats, cross: bool = True):
        self._view, self._lane, self._has_cross = view, lane, cross
        self._numbers = [
            (hour, (float(x), float(y))) for hour, (x, y) in zip(HOURS, self._number_places(), strict=True)
        ]
        self._scale = lay_scale(view, busy_px)

    def block(self, obstacles: Obstacles) -> None:
        """Clock numbers and scale."""
        for box in self.number_boxes:
            obstacles.add_box(box)
        for polygon in self._scale.boxes:
            obstacles.add(polygon)
        obstacles.add_box(self._scale.plate_box)

    @property
    def number_boxes(self) -> list[Box]:
        """What the clock numbers cover, 1 to 12."""
        return [_number_box(hour, middle, self._view.q) for hour, middle in self._numbers]

    def callouts(self) -> list[Callout]:
        """None: its texts have fixed places."""
        return []

    def draw_lines(self, canvas: Canvas) -> None:
        """The panel's edge."""
        theme = self._view.style.theme
        canvas.stroke(self._view.outline_px, EDGE, BONE if self._view.on_photo else theme.quiet, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - stands where it stands
        """Numbers, scale and the cross on the centre."""
        photo, theme = self._view.on_photo, self._view.style.theme
        for hour, (x, y) in self._numbers:
            colour = BONE if photo else theme.text
            canvas.text(Lettering((x, y), str(hour), NUMBER, colour, bold=hour % 3 == 0, outlined=photo))
        self._scale.draw(canvas, self._view)
        if self._has_cross:
            self._cross(canvas)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002
        """None: numbers and scale explain themselves."""
        return []

    def _number_places(self) -> Floats:
        """Middles (12, 2) of the clock numbers: each on its ray, just outside the edge."""
        view, angles = self._view, 30.0 * np.array(HOURS)
        centre, size = self._lane.centre_mm, (view.width_mm, view.height_mm)
        edge = to_edge(centre, angles, *size)
        out = view.outward_px(edge, angles)
        along = shapes.unit(
            view.to_px(to_edge(centre, angles + 1.0, *size)) - view.to_px(to_edge(centre, angles - 1.0, *size))
        )
        # All numbers of a side stand on one line, whatever the slant of their rays; wide ones a little further out.
        square_on = np.maximum(np.abs(out[:, 0] * along[:, 1] - out[:, 1] * along[:, 0]), 0.5)
        wide = np.array([text_width(str(hour), 64.0) for hour in HOURS]) / 64.0 * NUMBER
        reach = NUMBER_OUT / square_on + np.abs(out[:, 0]) * np.maximum(wide - NUMBER * 0.6, 0) / 2
        # Where spokes reach the edge, beads and arrows lie in the gutter and the numbers beyond them.
        lane = ((self._lane.point_mm(angles) - edge) * outward(angles)).sum(axis=1) * view.px_per_mm / view.q
        reach = np.maximum(reach, lane + NUMBER_BEYOND)
        left, top, right, bottom = view.frame
        room = NUMBER * 0.6 * view.q
        places = view.to_px(edge) + out * reach[:, None] * view.q
        return np.clip(places, (left + room, top + room), (right - room, bottom - room))

    def _cross(self, canvas: Canvas) -> None:
        """A cross on the centre that the layout goes by."""
        x, y = self._view.to_px(self._lane.centre_mm)
        arm = CROSS / 2 * canvas.q
        paths = ([[x - arm, y], [x + arm, y]], [[x, y - arm], [x, y + arm]])
        for path in paths:
            canvas.fill(
                [
                    shapes.ribbon(
                        shapes_longer(path, (CROSS_PEN.casing - CROSS_PEN.core) / 2 * canvas.q),
                        CROSS_PEN.casing * canvas.q,
                    )
                ],
                CROSS_PEN.casing_colour,
            )
        for path in paths:
            canvas.fill([shapes.ribbon(path, CROSS_PEN.core * canvas.q)], CROSS_PEN.colour)


def shapes_longer(path: list[list[float]], by: float) -> Floats:
    """A straight path made longer by `by` at both ends."""
    p = np.asarray(path, float)
    ahead = shapes.unit(p[-1] - p[0])
    return np.array([p[0] - by * ahead, p[-1] + by * ahead])


def _number_box(hour: int, middle: tuple[float, float], q: float) -> Box:
    """What a clock number covers."""
    half_wide = (text_width(str(hour), 64.0, bold=True) / 64.0 * NUMBER / 2 + 1.0) * q
    half_high = (0.36 * NUMBER + 1.0) * q
    x, y = middle
    return (x - half_wide, y - half_high, x + half_wide, y + half_high)
