"""Painted dots: a dashed circle where one is missing, an orange one round one too big; good ones get nothing."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots import Dot, Dots, MissingDot
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import DRAWN_OFF, RING_PLAN, Canvas
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View
from aligncheck.words import phrases
from aligncheck.words.dots import BIG_NAME, MISSING_NAME

Floats = NDArray[np.float64]

#: An orange circle stands this far off the dot, q, so that the dot itself is seen.
CLEAR = 2.5
#: Rays on which a figure may hang, degrees from the dot's own, and what each costs, q per degree.
RAYS, AWAY_COST = (0.0, -8.0, 8.0, -16.0, 16.0, -28.0, 28.0), 0.4


def _missing_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_around(np.array([x + width / 2, y]), 4.5 * canvas.q), RING_PLAN, closed=True)


def _big_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_around(np.array([x + width / 2, y]), 4.5 * canvas.q), DRAWN_OFF, closed=True)


MISSING_SIGN, BIG_SIGN = Sign(13.0, _missing_sign), Sign(13.0, _big_sign)


class DotLayer:
    """The dots of one panel that are missing or too big."""

    def __init__(self, view: View, lane: Lane, *, dots: Dots):
        self._view, self._lane, self._dots = view, lane, dots
        self._owners: dict[int, Dot | MissingDot] = {}

    def block(self, obstacles: Obstacles) -> None:
        """Dots lie within the disc of the marks, which is blocked already."""
        faulty: list[Dot | MissingDot] = [*self._dots.missing, *self._dots.oversize]
        for one in faulty:
            self._owners[obstacles.new_owner()] = one

    def callouts(self) -> list[Callout]:
        """The size of each, beyond the marks on its own ray."""
        return [self._callout(owner, one) for owner, one in self._owners.items()]

    def draw_lines(self, canvas: Canvas) -> None:
        """A circle for each."""
        for gap in self._dots.missing:
            canvas.line(self._circle(gap.centre_mm, gap.diameter_mm / 2), RING_PLAN, closed=True)
        for dot in self._dots.oversize:
            radius = dot.diameter_mm / 2 + self._view.mm(CLEAR)
            canvas.line(self._circle(dot.centre_mm, radius), DRAWN_OFF, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """The circles say where; nothing hangs on them."""

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - always both
        """One entry for each sign that is drawn."""
        entries = [Entry(MISSING_SIGN, MISSING_NAME)] if self._dots.missing else []
        return [*entries, Entry(BIG_SIGN, BIG_NAME)] if self._dots.oversize else entries

    def _circle(self, centre_mm: Floats, radius_mm: float) -> Floats:
        return self._view.to_px(centre_mm + radius_mm * outward(np.arange(0.0, 360.0, 6.0)))

    def _callout(self, owner: int, one: Dot | MissingDot) -> Callout:
        angle = float(bearing(one.centre_mm - self._dots.centre_mm))
        spots = tuple(self._spot(angle + turn, abs(turn) * AWAY_COST) for turn in RAYS)
        figure = phrases.mm(one.diameter_mm)
        if isinstance(one, MissingDot):
            return Callout("plan", figure, spots, owner, 0.0, above=MISSING_NAME, leader=False)
        below = f"± {phrases.plus_minus(one.diameter_u95_mm)}" if self._view.style.full else ""
        return Callout("move", figure, spots, owner, 0.0, above=BIG_NAME, below=below, leader=False)

    def _spot(self, angle_deg: float, extra: float) -> Spot:
        point = self._lane.point_mm(angle_deg)
        return Spot(self._view.to_px(point), self._view.outward_px(point, angle_deg), extra)


def _around(middle: Floats, radius_px: float) -> Floats:
    """A circle (n, 2) in pixels."""
    return middle + radius_px * outward(np.arange(0.0, 360.0, 10.0))
