"""Rings: one that is off is drawn solid with its plan dashed, and an arrow beside it says which way."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift, RingDrift
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay import arrows
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import DRAWN_OFF, RING_PLAN, Canvas
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.plates import PlateKind
from aligncheck.overlay.view import View
from aligncheck.words import phrases
from aligncheck.words.ranking import worst_mm

Floats = NDArray[np.float64]

#: In q: from the drawn ring to its arrow; and what it costs to stand between spokes that are marked themselves.
GAP, CROWDED_COST = 2.5, 30.0


class RingLayer:
    """All rings of one panel."""

    def __init__(self, view: View, drift: Drift, lane: Lane, lengths: arrows.Lengths):
        self._view, self._drift, self._lane, self._lengths = view, drift, lane, lengths
        self._marked = [r for r in drift.rings if r.verdict != "within"]
        self._rays = _rays_between(drift)
        self._owners: dict[int, int] = {}

    @property
    def draws_plan(self) -> bool:
        """Whether any dashed circle is drawn."""
        return any(self._parts(ring) for ring in self._marked)

    def block(self, obstacles: Obstacles) -> None:
        """Ring arrows lie within the disc of the marks, which is blocked already."""
        for number in range(len(self._marked)):
            self._owners[obstacles.new_owner()] = number

    def callouts(self) -> list[Callout]:
        """The move of each ring that is off, and the doubt of each too close to call; beyond the marks, no leader."""
        worst = worst_mm(self._drift)
        return [self._callout(owner, self._marked[number], worst) for owner, number in self._owners.items()]

    def draw_lines(self, canvas: Canvas) -> None:
        """The drawn circle solid, the plan's circle dashed over it."""
        for ring in self._marked:
            if ring.verdict == "out":
                canvas.line(self._circle(ring.ring.centre_mm, ring.radius_mm), DRAWN_OFF, closed=True)
            if self._parts(ring):
                plan = self._circle(np.array(self._drift.centre_mm), ring.ideal_radius_mm)
                canvas.line(plan, RING_PLAN, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """Each arrow on the ray at whose end its plate hangs."""
        rays = {callout.owner: placed.spot for callout, placed in placements if placed is not None}
        for owner, number in self._owners.items():
            ring = self._marked[number]
            path = self._view.to_px(self._arrow_mm(ring, self._rays[rays.get(owner, 0)][0]))
            if ring.verdict == "out":
                arrows.draw_solid(canvas, arrows.solid_arrow_outline(path, self._view.q))
            else:
                arrows.draw_hollow(canvas, arrows.hollow_arrow_outline(path, self._view.q))

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - nothing of its own
        """The legend's lines and arrows are the same as the spokes'."""
        return []

    def _parts(self, ring: RingDrift) -> bool:
        """Whether the plan is drawn: a plan that lies on the drawn line would only hide it."""
        return ring.verdict == "out" or abs(ring.drift_mm) > self._view.mm(DRAWN_OFF.core)

    def _circle(self, centre_mm: Floats, radius_mm: float) -> Floats:
        """A circle on the panel, in the picture."""
        return self._view.to_px(centre_mm + radius_mm * outward(np.arange(0.0, 360.0, 2.0)))

    def _arrow_mm(self, ring: RingDrift, angle_deg: float) -> Floats:
        """From tail to tip on the ray, outside the drawn ring: inward it ends at the ring, outward it starts there."""
        length = self._view.mm(arrows.UNSURE_LONG)
        if ring.verdict == "out":
            length = abs(self._lengths.drawn_mm(ring.drift_mm, -1))
        near = ring.radius_mm + self._view.mm(GAP)
        ends = (near + length, near) if ring.drift_mm > 0 else (near, near + length)
        return np.asarray(ring.ring.centre_mm + np.linspace(*ends, 9)[:, None] * outward(angle_deg), float)

    def _callout(self, owner: int, ring: RingDrift, worst: float) -> Callout:
        """The figure of one ring, with its number."""
        size, u95 = phrases.mm(ring.drift_mm), phrases.plus_minus(ring.drift_u95_mm)
        spots = tuple(self._spot(angle, crowd) for angle, crowd in self._rays)
        above = f"ring {ring.number}"
        weight = abs(ring.drift_mm)
        if ring.verdict == "unsure":
            return Callout("unsure", size, spots, owner, weight, tail="?", below=f"± {u95}", above=above, leader=False)
        way = "in" if ring.drift_mm > 0 else "out"
        below = f"± {u95}" if self._view.style.full else ""
        kind: PlateKind = "worst" if weight == worst else "move"
        return Callout(kind, size, spots, owner, weight, tail=way, above=above, below=below, leader=False)

    def _spot(self, angle_deg: float, crowd: float) -> Spot:
        """Where the ray leaves the marks."""
        point = self._lane.point_mm(angle_deg)
        return Spot(self._view.to_px(point), self._view.outward_px(point, angle_deg), crowd * CROWDED_COST)


def _rays_between(drift: Drift) -> list[tuple[float, float]]:
    """Bearings halfway between neighbouring spokes, and how many of the two (0 to 2) are marked themselves."""
    if len(drift.spokes) < 2:
        return [(float(angle), 0.0) for angle in range(45, 360, 90)]
    centre = np.array(drift.centre_mm)
    ends = sorted((float(bearing(s.spoke.outer_mm - centre)), s.verdict != "within") for s in drift.spokes)
    pairs = zip(ends, ends[1:] + ends[:1], strict=True)
    return [(a + (b - a) % 360.0 / 2, float(off_a) + float(off_b)) for (a, off_a), (b, off_b) in pairs]
