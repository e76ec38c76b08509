"""Spokes: the drawn line and the plan where they part, and on the lane a bead, an arrow or a hollow arrow."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift, SpokeDrift
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay import arrows
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import DRAWN_OFF, SPOKE_PLAN, Canvas
from aligncheck.overlay.colours import MOVE
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.place import SOLID, Obstacles, Spot
from aligncheck.overlay.plates import PlateKind
from aligncheck.overlay.view import View
from aligncheck.words import phrases

Floats = NDArray[np.float64]

#: On the screen the inner part of a spoke that is off stays free: near the centre all spokes crowd.
FREE_INSIDE = 0.3
POINTS = 33


class SpokeLayer:
    """All spokes of one panel."""

    def __init__(self, view: View, drift: Drift, lane: Lane, lengths: arrows.Lengths):
        self._view, self._drift, self._lane, self._lengths = view, drift, lane, lengths
        self._marked = [(s, self._arrow(s)) for s in drift.spokes if s.verdict != "within"]
        self._fit = [s for s in drift.spokes if s.verdict == "within"]
        self._owners: dict[int, int] = {}

    def block(self, obstacles: Obstacles) -> None:
        """The disc of all marks out to the lane, then every arrow."""
        beads = self._lane.outline_mm()
        obstacles.add(self._view.to_px(beads), SOLID)
        for number, (_, outline) in enumerate(self._marked):
            self._owners[number] = obstacles.new_owner()
            obstacles.add(outline, self._owners[number])

    def callouts(self) -> list[Callout]:
        """The move of each spoke that is off, and the doubt of each that is too close to call."""
        worst = max((abs(s.move_mm) for s, _ in self._marked if s.verdict == "out"), default=0.0)
        return [self._callout(number, spoke, worst) for number, (spoke, _) in enumerate(self._marked)]

    def draw_lines(self, canvas: Canvas) -> None:
        """First all plans, then the drawn spokes that are off."""
        for spoke in self._drift.spokes:
            plan = self._plan(spoke)
            if len(plan) > 1:
                canvas.line(self._view.to_px(plan), SPOKE_PLAN)
        for spoke in self._drift.spokes:
            if spoke.verdict == "out":
                start = 0.0 if self._view.style.full else FREE_INSIDE
                canvas.line(self._view.to_px(_drawn(spoke, np.linspace(start, 1, POINTS))), DRAWN_OFF)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - spokes stay where they are
        """A bead beyond each spoke that fits; an arrow from a bead on each that does not."""
        for spoke in self._fit:
            canvas.bead(self._view.to_px(self._lane.point_mm(self._end_deg(spoke))))
        for spoke, outline in self._marked:
            if spoke.verdict == "out":
                arrows.draw_solid(canvas, outline)
                canvas.bead(self._view.to_px(self._lane.point_mm(self._end_deg(spoke))), colour=MOVE)
            else:
                arrows.draw_hollow(canvas, outline)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - the same wherever plates hang
        """How many fit: a bead each."""
        text = phrases.LEGEND_FIT.format(what=phrases.count(len(self._fit), "spoke"), verb=phrases.fit(len(self._fit)))
        return [Entry("bead", text)] if self._fit else []

    def _end_deg(self, spoke: SpokeDrift) -> float:
        """Bearing of the drawn outer end from the layout's centre."""
        return float(bearing(spoke.spoke.outer_mm - self._lane.centre_mm))

    def _arc(self, spoke: SpokeDrift) -> Floats:
        """The arrow's middle line on the panel."""
        sign = 1.0 if spoke.move_mm > 0 else -1.0
        length = sign * self._view.mm(arrows.UNSURE_LONG)
        if spoke.verdict == "out":
            length = self._lengths.drawn_mm(spoke.move_mm)
        return self._lane.arc_mm(self._end_deg(spoke), length)

    def _arrow(self, spoke: SpokeDrift) -> Floats:
        """The arrow's outline in the picture."""
        path = self._view.to_px(self._arc(spoke))
        outline = arrows.solid_arrow_outline if spoke.verdict == "out" else arrows.hollow_arrow_outline
        return outline(path, self._view.q)

    def _callout(self, number: int, spoke: SpokeDrift, worst_mm: float) -> Callout:
        """The figure of one spoke, hung on its arrow's middle."""
        arc = self._arc(spoke)
        middle = arc[len(arc) // 2]
        angle = float(bearing(middle - self._lane.centre_mm))
        spot = Spot(self._view.to_px(middle), self._view.outward_px(middle, angle))
        size, u95 = phrases.mm(spoke.move_mm), phrases.plus_minus(spoke.move_u95_mm)
        owner, weight = self._owners[number], abs(spoke.move_mm)
        if spoke.verdict == "unsure":
            return Callout("unsure", f"{size} ± {u95}", (spot,), owner, weight, tail="?")
        kind: PlateKind = "worst" if weight == worst_mm and self._is_worst(worst_mm) else "move"
        below = f"± {u95}" if self._view.style.full else ""
        return Callout(kind, size, (spot,), owner, weight, below=below)

    def _is_worst(self, worst_mm: float) -> bool:
        """Whether no ring is further off than the worst spoke."""
        return all(abs(r.drift_mm) <= worst_mm for r in self._drift.rings if r.verdict == "out")

    def _plan(self, spoke: SpokeDrift) -> Floats:
        """The plan's line that is drawn: all of it in print, else its outer part that parts from the drawn line."""
        centre, ideal = self._lane.centre_mm, outward(spoke.ideal_deg)
        shares = np.linspace(0, 1, POINTS)
        drawn = _drawn(spoke, shares)
        plan = centre + np.hypot(*(drawn - centre).T)[:, None] * ideal
        if self._view.style.full:
            return np.asarray(plan, float)
        if spoke.verdict == "within":
            return np.empty((0, 2))
        together = np.flatnonzero(np.hypot(*(drawn - plan).T) <= self._view.mm(DRAWN_OFF.core))
        first = together[-1] + 1 if len(together) else 0
        return np.asarray(plan[max(first, int(FREE_INSIDE * POINTS)) :], float)


def _drawn(spoke: SpokeDrift, shares: Floats) -> Floats:
    """Points (n, 2) of the drawn spoke, at shares of its length from the inner end."""
    inner, outer = spoke.spoke.inner_mm, spoke.spoke.outer_mm
    return np.asarray(inner + shares[:, None] * (outer - inner), float)
