"""Spokes: the drawn line and the plan where they part, and on the lane a bead, an arrow or a hollow arrow."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift, SpokeDrift
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay import arrows
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import BEAD, DRAWN_OFF, RIM, SPOKE_PLAN, Canvas
from aligncheck.overlay.colours import MOVE
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import SOLID, Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.plates import PlateKind
from aligncheck.overlay.signs import BEAD_SIGN
from aligncheck.overlay.view import View
from aligncheck.words import phrases
from aligncheck.words.ranking import worst_mm

Floats = NDArray[np.float64]

#: On the screen the inner part of a spoke that is off stays free: near the centre all spokes crowd.
FREE_INSIDE = 0.3
POINTS = 33
#: In q: plans of neighbouring spokes begin where they are this far from each other.
PLANS_APART = 6.0


class _Marked(NamedTuple):
    """A spoke with an arrow: its number in the drift, the arrow's middle line (mm) and its outline (px)."""

    number: int
    spoke: SpokeDrift
    arc_mm: Floats
    outline_px: Floats


class SpokeLayer:
    """All spokes of one panel."""

    def __init__(self, view: View, drift: Drift, lane: Lane, lengths: arrows.Lengths):
        self._view, self._drift, self._lane, self._lengths = view, drift, lane, lengths
        self._marked = [self._mark(n, s) for n, s in enumerate(drift.spokes) if s.verdict != "within"]
        self._fit = [s for s in drift.spokes if s.verdict == "within"]
        self._plans = [plan for plan in map(self._plan, drift.spokes) if len(plan) > 1]
        self._owners: dict[int, int] = {}

    @property
    def draws_plan(self) -> bool:
        """Whether any dashed line is drawn."""
        return bool(self._plans)

    def block(self, obstacles: Obstacles) -> None:
        """The disc of all marks out to the beads on the lane, then every arrow."""
        obstacles.add(self._view.to_px(self._lane.outline_mm(self._view.mm(BEAD + RIM))), SOLID)
        for marked in self._marked:
            owner = self._owners[marked.number] = obstacles.new_owner()
            obstacles.add(marked.outline_px, owner, arrows.RIM)

    @property
    def arrow_outlines_px(self) -> list[Floats]:
        """The outlines of all arrows, filled and hollow."""
        return [marked.outline_px for marked in self._marked]

    @property
    def arrow_middles_px(self) -> Floats:
        """Where the arrows' figures hang (n, 2)."""
        middles = [marked.arc_mm[len(marked.arc_mm) // 2] for marked in self._marked]
        return self._view.to_px(np.array(middles).reshape(-1, 2))

    def callouts(self) -> list[Callout]:
        """The move of each spoke that is off, and the doubt of each that is too close to call."""
        worst = worst_mm(self._drift)
        return [self._callout(marked, worst) for marked in self._marked]

    def draw_lines(self, canvas: Canvas) -> None:
        """First all plans, then the drawn spokes that are off."""
        for plan in self._plans:
            canvas.line(self._view.to_px(plan), SPOKE_PLAN)
        for spoke in self._drift.spokes:
            if spoke.verdict == "out":
                start = 0.0 if self._view.style.full else FREE_INSIDE
                canvas.line(self._view.to_px(_drawn(spoke, np.linspace(start, 1, POINTS))), DRAWN_OFF)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - spokes stay where they are
        """A bead beyond each spoke that fits; an arrow from a bead on each that does not."""
        for spoke in self._fit:
            canvas.bead(self._view.to_px(self._lane.point_mm(self._end_deg(spoke))))
        for marked in self._marked:
            if marked.spoke.verdict == "out":
                arrows.draw_solid(canvas, marked.outline_px)
                canvas.bead(self._view.to_px(marked.arc_mm[0]), colour=MOVE)
            else:
                arrows.draw_hollow(canvas, marked.outline_px)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - the same wherever plates hang
        """How many fit: a bead each."""
        text = phrases.LEGEND_FIT.format(what=phrases.count(len(self._fit), "spoke"), verb=phrases.fit(len(self._fit)))
        return [Entry(BEAD_SIGN, text)] if self._fit else []

    def _end_deg(self, spoke: SpokeDrift) -> float:
        """Bearing of the drawn outer end from the layout's centre."""
        return float(bearing(spoke.spoke.outer_mm - self._lane.centre_mm))

    def _mark(self, number: int, spoke: SpokeDrift) -> _Marked:
        """Lay the arrow of a spoke on the lane."""
        if spoke.verdict == "out":
            length = self._lengths.drawn_mm(spoke.move_mm, number)
            draw = arrows.solid_arrow_outline
        else:
            room = min(self._view.mm(arrows.UNSURE_LONG), self._lengths.limits_mm[number])
            length = room if spoke.move_mm > 0 else -room
            draw = arrows.hollow_arrow_outline
        arc = self._lane.arc_mm(self._end_deg(spoke), length)
        return _Marked(number, spoke, arc, draw(self._view.to_px(arc), self._view.q))

    def _callout(self, marked: _Marked, worst: float) -> Callout:
        """The figure of one spoke, hung on its arrow's middle."""
        spoke, middle = marked.spoke, marked.arc_mm[len(marked.arc_mm) // 2]
        angle = float(bearing(middle - self._lane.centre_mm))
        spot = Spot(self._view.to_px(middle), self._view.outward_px(middle, angle))
        size, u95 = phrases.mm(spoke.move_mm), phrases.plus_minus(spoke.move_u95_mm)
        owner, weight = self._owners[marked.number], abs(spoke.move_mm)
        if spoke.verdict == "unsure":
            return Callout("unsure", size, (spot,), owner, weight, tail="?", below=f"± {u95}")
        kind: PlateKind = "worst" if weight == worst else "move"
        below = f"± {u95}" if self._view.style.full else ""
        return Callout(kind, size, (spot,), owner, weight, below=below)

    def _plan(self, spoke: SpokeDrift) -> Floats:
        """The plan's line that is drawn: all of it in print, else its outer part that parts from the drawn line."""
        centre, ideal = self._lane.centre_mm, outward(spoke.ideal_deg)
        shares = np.linspace(0, 1, POINTS)
        drawn = _drawn(spoke, shares)
        plan = centre + np.hypot(*(drawn - centre).T)[:, None] * ideal
        if self._view.style.full:
            # Near the centre the dashes of many spokes would run together.
            apart = self._view.mm(PLANS_APART) * self._drift.marks.segments / (2 * np.pi)
            return np.asarray(plan[np.hypot(*(plan - centre).T) >= apart], float)
        if spoke.verdict == "within":
            return np.empty((0, 2))
        together = np.flatnonzero(np.hypot(*(drawn - plan).T) <= self._view.mm(DRAWN_OFF.core))
        first = together[-1] + 1 if len(together) else 0
        return np.asarray(plan[max(first, int(FREE_INSIDE * POINTS)) :], float)


def _drawn(spoke: SpokeDrift, shares: Floats) -> Floats:
    """Points (n, 2) of the drawn spoke, at shares of its length from the inner end."""
    inner, outer = spoke.spoke.inner_mm, spoke.spoke.outer_mm
    return np.asarray(inner + shares[:, None] * (outer - inner), float)
