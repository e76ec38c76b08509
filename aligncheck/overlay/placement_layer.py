"""Putting a piece back: the earlier outline dashed over the present photo, an arrow for the shift, one for the turn."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay import arrows
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import SPOKE_PLAN, Canvas
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View
from aligncheck.placement import Placement
from aligncheck.words.placing import LEGEND_EARLIER, LEGEND_PUT_BACK, is_back, turn_counts

Floats = NDArray[np.float64]

#: Arrows are as long as the shift, and at least so long, q, or they could not be seen.
LEAST_LONG = 14.0


def _earlier_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y], [x + width, y]], SPOKE_PLAN)


def _arrow_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    path = np.array([[x, y], [x + width / 2, y], [x + width, y]])
    arrows.draw_solid(canvas, arrows.solid_arrow_outline(path, canvas.q))


EARLIER_SIGN, ARROW_SIGN = Sign(21.4, _earlier_sign), Sign(24.0, _arrow_sign)


class PlacementLayer:
    """The piece's earlier place and the way back to it."""

    def __init__(self, view: View, lane: Lane, *, moved: Placement):
        del lane
        self._view, self._moved = view, moved

    def block(self, obstacles: Obstacles) -> None:
        """All of it lies within the disc of the marks."""

    def callouts(self) -> list[Callout]:
        """None: the move is the headline."""
        return []

    def draw_lines(self, canvas: Canvas) -> None:
        """The earlier outline as the present camera would see it."""
        canvas.line(self._view.to_px(self._moved.earlier_outline_mm), SPOKE_PLAN, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - stands where it stands
        """Shift from the present middle, turn at the outermost tip."""
        if is_back(self._moved):
            return
        outline = self._moved.earlier_outline_mm
        middle = outline.mean(0)
        self._arrow(canvas, np.linspace(middle - self._moved.back_mm, middle, 9))
        if turn_counts(self._moved):
            tip = outline[int(np.hypot(*(outline - middle).T).argmax())] - middle
            radius = float(np.hypot(*tip)) + self._view.mm(9.0)
            sweep = np.degrees(self._longer(self._moved.tips_mm) / radius)
            turn = float(bearing(tip)) - np.linspace(sweep, 0.0, 17)
            self._arrow(canvas, middle + radius * outward(turn), as_long=True)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002
        """The dashes and the arrows."""
        back = [] if is_back(self._moved) else [Entry(ARROW_SIGN, LEGEND_PUT_BACK)]
        return [Entry(EARLIER_SIGN, LEGEND_EARLIER), *back]

    def _arrow(self, canvas: Canvas, path_mm: Floats, as_long: bool = False) -> None:
        """A filled arrow along a path on the panel, its tip kept where it is."""
        way = path_mm[-1] - path_mm[0]
        length = float(np.hypot(*way))
        if not as_long and length > 0:
            path_mm = path_mm[-1] + (path_mm - path_mm[-1]) * (abs(self._longer(length)) / length)
        arrows.draw_solid(canvas, arrows.solid_arrow_outline(self._view.to_px(path_mm), self._view.q))

    def _longer(self, length_mm: float) -> float:
        """At least as long as can be seen, sign kept."""
        return float(np.copysign(max(abs(length_mm), self._view.mm(LEAST_LONG)), length_mm))
