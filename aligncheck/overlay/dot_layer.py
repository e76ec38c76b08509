"""Painted dots: what is amiss is circled and tied to its figure; good dots get nothing."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots import Dots
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay import dot_signs
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import DRAWN_OFF, Canvas, Pen
from aligncheck.overlay.colours import MOVE, PLAN
from aligncheck.overlay.dot_faults import Fault, faults_of
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.leaders import crossings, nearest_points
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.view import View
from aligncheck.words import phrases
from aligncheck.words.dots import FIT_NAME

Floats = NDArray[np.float64]

#: In q: the lane beyond the outermost dot; a circle stands so far off its dot and is no smaller than this.
BEYOND, CLEAR, LEAST = 4.0, 2.5, 5.5
TIE, TIE_PLAN = Pen(1.2, 3.0, MOVE), Pen(1.2, 3.0, PLAN)
#: Rounds in which ties give way to one another.
ROUNDS = 4
#: Rays on which a figure may hang, degrees from the dot's own, how near neighbours are, and what each costs, q/degree.
RAYS, NEIGHBOUR, AWAY_COST = (0.0, -8.0, 8.0, -16.0, 16.0, -28.0, 28.0, -42.0, 42.0, -56.0, 56.0), 21.0, 0.4


class DotLayer:
    """The dots of one panel."""

    def __init__(self, view: View, lane: Lane, *, dots: Dots):  # noqa: ARG002 - dots have a lane of their own
        self._view, self._dots, self._faults = view, dots, faults_of(dots)
        reach = [float(np.hypot(*(d.centre_mm - dots.centre_mm))) + d.diameter_mm / 2 for d in dots.dots]
        self._lane = Lane(dots.centre_mm, np.array([0.0]), np.array([max(reach, default=0.0) + view.mm(BEYOND)]))
        self._owners: dict[int, Fault] = {}
        self._rays: dict[int, tuple[float, ...]] = {}

    def block(self, obstacles: Obstacles) -> None:
        """No figure lies on the painting."""
        obstacles.add(self._view.to_px(self._lane.outline_mm()))
        for fault in self._faults:
            self._owners[obstacles.new_owner()] = fault
        self._rays = self._choose_rays()

    def callouts(self) -> list[Callout]:
        """What is amiss with each, beyond the painting on its own ray or one beside it."""
        return [self._callout(owner, fault) for owner, fault in self._owners.items()]

    def draw_lines(self, canvas: Canvas) -> None:
        """A circle for each."""
        for fault in self._faults:
            if fault.plan_mm is not None:
                canvas.line(self._circle(fault.plan_mm, fault.diameter_mm / 2), dot_signs.DASHED, closed=True)
            for centre, diameter in fault.drawn:
                canvas.line(self._circle(centre, diameter / 2 + self._view.mm(CLEAR)), DRAWN_OFF, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """A line from each circle by the lane to its figure."""
        for callout, placed in placements:
            fault = self._owners.get(callout.owner)
            if fault is None or placed is None:
                continue
            anchor = callout.spots[placed.spot].anchor
            start = self._view.to_px(self._rim(fault, self._anchor_mm(fault, self._rays[callout.owner][placed.spot])))
            path = np.array([start, anchor, nearest_points(anchor, np.array([placed.box]))[0]])
            canvas.line(path, TIE_PLAN if fault.plan_only else TIE)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002 - the same wherever figures hang
        """How many fit, and one entry for each kind of fault."""
        amiss = sum(fault.dots for fault in self._faults)
        fit = phrases.count(len(self._dots.dots) - amiss, "dot")
        names = dict.fromkeys(fault.name for fault in self._faults)
        return [
            Entry(dot_signs.FIT_SIGN, FIT_NAME.format(what=fit)),
            *(Entry(dot_signs.SIGNS[name], name) for name in names),
        ]

    def _circle(self, centre_mm: Floats, radius_mm: float) -> Floats:
        radius = max(radius_mm, self._view.mm(LEAST))
        return self._view.to_px(centre_mm + radius * outward(np.arange(0.0, 360.0, 6.0)))

    def _radius(self, fault: Fault) -> float:
        """Of the circle about a fault, mm."""
        clear = 0.0 if fault.plan_only else self._view.mm(CLEAR)
        return max(fault.diameter_mm / 2 + clear, self._view.mm(LEAST))

    def _rim(self, fault: Fault, anchor: Floats) -> Floats:
        """Where a tie leaves the circle."""
        way = anchor - fault.at_mm
        length = max(float(np.hypot(*way)), 1e-6)
        return np.asarray(fault.at_mm + way * min(self._radius(fault) / length, 1.0), float)

    def _anchor_mm(self, fault: Fault, turn_deg: float) -> Floats:
        return np.asarray(self._lane.point_mm(float(bearing(fault.at_mm - self._dots.centre_mm)) + turn_deg), float)

    def _callout(self, owner: int, fault: Fault) -> Callout:
        spots = tuple(self._spot(fault, turn) for turn in self._rays[owner])
        below = fault.place + (
            f", ± {phrases.plus_minus(fault.u95_mm)}" if self._view.style.full and fault.u95_mm else ""
        )
        return Callout(
            "plan" if fault.plan_only else "move", fault.figure, spots, owner, fault.weight,
            unit="mm" if fault.has_mm else "", tail=fault.tail, below=below, leader=True,
        )  # fmt: skip

    def _spot(self, fault: Fault, turn_deg: float) -> Spot:
        point = self._anchor_mm(fault, turn_deg)
        angle = float(bearing(point - self._dots.centre_mm))
        return Spot(self._view.to_px(point), self._view.outward_px(point, angle), abs(turn_deg) * AWAY_COST)

    def _choose_rays(self) -> dict[int, tuple[float, ...]]:
        """For each fault the rays it may take: past no other circle and across no other tie where that can be had."""
        paths = {
            owner: [np.array([fault.at_mm, self._anchor_mm(fault, turn)]) for turn in RAYS]
            for owner, fault in self._owners.items()
        }
        passed = {owner: [self._passes(self._owners[owner], p[1]) for p in tries] for owner, tries in paths.items()}
        chosen = dict.fromkeys(paths, 0)
        rays = {}
        # Each gives way to the others in turn, until they are settled.
        for _ in range(ROUNDS):
            for owner, tries in paths.items():
                ties = [paths[other][k] for other, k in chosen.items() if other != owner]
                amiss = [n + sum(_cross(p, tie) for tie in ties) for n, p in zip(passed[owner], tries, strict=True)]
                chosen[owner] = k = amiss.index(min(amiss))
                some = zip(RAYS, amiss, strict=True)
                rays[owner] = tuple(t for t, n in some if n == amiss[k] and abs(t - RAYS[k]) <= NEIGHBOUR)
        return rays

    def _passes(self, fault: Fault, anchor: Floats) -> int:
        """How many other circles a straight tie to `anchor` would pass through."""
        way = anchor - fault.at_mm
        length = max(float(np.hypot(*way)), 1e-6)
        passed = 0
        for other in self._faults:
            if other is fault:
                continue
            along = float(np.clip((other.at_mm - fault.at_mm) @ way / length**2, 0, 1))
            away = float(np.hypot(*(fault.at_mm + along * way - other.at_mm)))
            passed += away < self._radius(other) + self._view.mm(2.0)
        return passed


def _cross(one: Floats, other: Floats) -> bool:
    """Whether two straight pieces (2, 2) cross."""
    return bool(crossings(one[0], one[1], other[0], other[1]))
