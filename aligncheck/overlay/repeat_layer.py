"""The repeat test as calm heat: where a segment is unlike the others the panel is tinted, the more the more unlike."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.overlay import shapes
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import Canvas
from aligncheck.overlay.colours import INK, PLAN
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View
from aligncheck.repeat.repeat import Departure, Heat, Repeat
from aligncheck.words.repeats import LEGEND

Floats = NDArray[np.float64]

#: Heat (CIELAB beyond noise) from which on each tint begins, and how strong it is.
LEVELS = ((2.0, 0.25), (8.0, 0.3), (18.0, 0.35))
#: The outline about a place, q: core and casing, so that it is seen on chalk and paint alike.
OUTLINE, CASING = 1.0, 2.4
#: So many places are drawn; the list has the others.
MOST = 8


def _heat_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    box = shapes.rounded((x, y - 4 * canvas.q, x + width, y + 4 * canvas.q), 1.0)
    canvas.fill([box], style.theme.ground)
    canvas.tint([box], PLAN, 0.4)
    canvas.stroke(box, CASING, INK, closed=True)
    canvas.stroke(box, OUTLINE, PLAN, closed=True)


HEAT_SIGN = Sign(20.0, _heat_sign)


class RepeatLayer:
    """Outlines of equal heat about the listed places, filled ever more strongly.

    `places`: the departures that no other layer circles.
    """

    def __init__(self, view: View, lane: Lane, *, repeat: Repeat, places: Sequence[Departure]):  # noqa: ARG002
        self._view, self._repeat = view, repeat
        self._places = places[:MOST]

    def block(self, obstacles: Obstacles) -> None:
        """Nothing of its own: heat lies within the disc of the marks."""

    def callouts(self) -> list[Callout]:
        """The list names the places."""
        return []

    def draw_lines(self, canvas: Canvas) -> None:
        """All levels, the widest first."""
        heat = self._repeat.heat
        if heat is None or not self._places:
            return
        for level, share in LEVELS:
            outlines = [self._view.to_px(self._to_panel(heat, line)) for line in self._about_places(heat, level)]
            if outlines:
                canvas.tint(outlines, PLAN, share)
            if level == LEVELS[0][0]:
                for outline in outlines:
                    canvas.stroke(outline, CASING, INK, closed=True)
                    canvas.stroke(outline, OUTLINE, PLAN, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """No arrows: the test says where, not which way."""

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - the same wherever figures hang
        """The tint, where there is any."""
        return [Entry(HEAT_SIGN, LEGEND)] if self._places else []

    def _about_places(self, heat: Heat, level: float) -> list[Floats]:
        """The outlines at a level that lie about one of the listed places."""
        middles = np.array([one.place_mm for one in self._places])
        found = []
        for line in contours(heat, level):
            points = self._to_panel(heat, line)
            low, high = points.min(0) - heat.step_mm, points.max(0) + heat.step_mm
            if ((middles >= low) & (middles <= high)).all(1).any():
                found.append(line)
        return found

    def _to_panel(self, heat: Heat, line: Floats) -> Floats:
        """Places (n, 2) of column, row to panel mm."""
        angle = heat.first_deg + line[:, 0] * 360.0 / heat.values.shape[1]
        radius = heat.innermost_mm + line[:, 1] * heat.step_mm
        return np.asarray(np.array(self._repeat.centre_mm) + radius[:, None] * outward(angle), float)


def contours(heat: Heat, level: float) -> list[Floats]:
    """Closed outlines (n, 2) of column, row where the heat is above `level`; small specks are left out."""
    import cv2

    wide = np.concatenate([heat.values, heat.values[:, :1]], axis=1)
    found, _ = cv2.findContours((wide > level).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return [_rounded(line.reshape(-1, 2).astype(float)) for line in found if len(line) >= 5]


def _rounded(line: Floats) -> Floats:
    """The outline half a cell farther out, its steps smoothed away."""
    middle = line.mean(0)
    away = line - middle
    line = middle + away * (1 + 0.5 / np.maximum(np.hypot(*away.T), 0.5))[:, None]
    smooth = sum(np.roll(line, k, axis=0) for k in (-1, 0, 1)) / 3
    return np.asarray(smooth, float)
