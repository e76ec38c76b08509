"""Traced petals: one that is short is drawn solid, with an arrow from its tip to where the row's tips are."""

import numpy as np

from aligncheck.geometry.angles import outward
from aligncheck.overlay import arrows
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import DRAWN_OFF, RING_PLAN, Canvas
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View
from aligncheck.rows import Petal, Rows
from aligncheck.words import phrases
from aligncheck.words.petals import LEGEND_PLAN_TIP, LEGEND_SHORT, PLATE_ROW, PLATE_WAY

#: Half the width of the dashed arc that stands for the row's tips, in q, and the shortest arrow.
ARC, SHORTEST = 12.0, 12.0


def _short_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y + 4 * canvas.q], [x + width / 2, y - 4 * canvas.q], [x + width, y + 4 * canvas.q]], DRAWN_OFF)


def _plan_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y], [x + width, y]], RING_PLAN)


SHORT_SIGN, PLAN_TIP_SIGN = Sign(22.0, _short_sign), Sign(22.0, _plan_sign)


class PetalLayer:
    """The short petals of all rows; petals that fit are the painter's own chalk."""

    def __init__(self, view: View, lane: Lane, *, rows: Rows):
        self._view, self._lane, self._short = view, lane, rows.short
        self._owners: dict[int, Petal] = {}

    def block(self, obstacles: Obstacles) -> None:
        """Petals lie within the disc of the marks, which is blocked already."""
        self._owners = {obstacles.new_owner(): petal for petal in self._short}

    def callouts(self) -> list[Callout]:
        """How far each tip must go out, beyond the marks on its ray."""
        return [self._callout(owner, petal) for owner, petal in self._owners.items()]

    def draw_lines(self, canvas: Canvas) -> None:
        """Outlines of short petals, and a piece of the circle that their tips should reach."""
        for petal in self._short:
            canvas.line(self._view.to_px(petal.outline_mm), DRAWN_OFF)
            half = np.degrees(self._view.mm(ARC) / petal.ideal_radius_mm)
            turn = petal.angle_deg + np.linspace(-half, half, 9)
            canvas.line(self._view.to_px(self._centre_of(petal) + petal.ideal_radius_mm * outward(turn)), RING_PLAN)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - arrows stay at the tips
        """An arrow from tip to plan; never shorter than can be seen."""
        for petal in self._short:
            length = max(petal.inward_mm, self._view.mm(SHORTEST))
            path = petal.tip_mm + np.linspace(0, length, 9)[:, None] * outward(petal.angle_deg)
            arrows.draw_solid(canvas, arrows.solid_arrow_outline(self._view.to_px(path), self._view.q))

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - the same wherever figures hang
        """Outline and plan."""
        return [Entry(SHORT_SIGN, LEGEND_SHORT), Entry(PLAN_TIP_SIGN, LEGEND_PLAN_TIP)] if self._short else []

    def _centre_of(self, petal: Petal) -> np.ndarray:
        return np.asarray(petal.tip_mm - petal.radius_mm * outward(petal.angle_deg), float)

    def _callout(self, owner: int, petal: Petal) -> Callout:
        point = self._lane.point_mm(petal.angle_deg)
        spot = Spot(self._view.to_px(point), self._view.outward_px(point, petal.angle_deg), 0.0)
        below = f"± {phrases.plus_minus(petal.inward_u95_mm)}" if self._view.style.full else ""
        figure, above = phrases.mm(petal.inward_mm), PLATE_ROW.format(row=petal.row)
        return Callout(
            "move", figure, (spot,), owner, petal.inward_mm, tail=PLATE_WAY, above=above, below=below, leader=False
        )
