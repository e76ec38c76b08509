"""Finding a spot for every label: beside what it names, over nothing else.

Each label tries spots outward along its ray and sideways, the nearest first. A spot counts only if the plate clears
all obstacles and the plates placed before it, stays in the frame, and its leader crosses nothing but its own arrow.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay.leaders import crossings, nearest_points, pass_through, points_on
from aligncheck.overlay.obstacles import FREE, SOLID, Obstacles
from aligncheck.overlay.plates import BORDER, Plate
from aligncheck.overlay.view import Box

Floats = NDArray[np.float64]

#: In q: how far out and to the sides, in which steps.
OUT_Q = np.arange(6.0, 110.1, 2.5)
SIDE_Q = np.arange(-56.0, 56.1, 3.5)
#: Of every candidate: how far out and how far to the side.
OUT_OF, ASIDE_OF = (v.ravel() for v in np.meshgrid(OUT_Q, SIDE_Q, indexing="ij"))
#: In q: room round a plate and its border, room to the frame, shortest leader that is drawn.
CLEAR, INSIDE, LEADER_FROM = 1.6 + BORDER, 2.0 + BORDER, 9.0
#: A label straight out from its arrow reads better than one as near but to the side.
SIDEWAYS_COST = 0.35
#: Leaders are looked at this many at a time, nearest first, at this many points each.
AT_ONCE, LOOKS = 64, 96


class Spot(NamedTuple):
    """Where a label may hang: its arrow's middle and the way outward (both (2,), px), and what it costs beside that."""

    anchor: Floats
    outward: Floats
    extra_q: float = 0.0


class Label(NamedTuple):
    """A plate that wants a place.

    `spots`: rays to choose from. `owner`: number of its arrow among the obstacles, which its leader may cross.
    `leader`: whether it is tied to its arrow by a line.
    """

    plate: Plate
    spots: tuple[Spot, ...]
    owner: int
    leader: bool = True


class Placed(NamedTuple):
    """A label in its place: the plate's box, the leader's two ends (or None), which of its spots was taken."""

    label: Label
    box: Box
    leader: tuple[Floats, Floats] | None
    spot: int


class Placer:
    """Places labels one after the other; each placed one is an obstacle to the next."""

    def __init__(self, obstacles: Obstacles):
        self._obstacles, self._q = obstacles, obstacles.q
        self._boxes: list[Box] = []
        self._leaders: list[tuple[Floats, Floats]] = []

    def place(self, label: Label) -> Placed | None:
        """The best spot for `label`, now taken; None if there is none."""
        found: tuple[float, Placed] | None = None
        for number, spot in enumerate(label.spots):
            boxes, costs = self._candidates(label.plate, spot)
            good = self._clear(boxes)
            good = good[np.argsort(costs[good], kind="stable")]
            if found is not None:
                good = good[costs[good] < found[0]]
            k = self._first_reachable(label, spot.anchor, boxes, good)
            if k is not None:
                box = (float(boxes[k, 0]), float(boxes[k, 1]), float(boxes[k, 2]), float(boxes[k, 3]))
                found = float(costs[k]), Placed(label, box, self._leader(label, spot.anchor, boxes[k]), number)
        if found is None:
            return None
        self._boxes.append(found[1].box)
        if found[1].leader is not None:
            self._leaders.append(found[1].leader)
        return found[1]

    def _candidates(self, plate: Plate, spot: Spot) -> tuple[Floats, Floats]:
        """All boxes (n, 4) the plate could take for this spot, and their costs in q."""
        width, height = (v * self._q for v in plate.size_q())
        side = np.array([-spot.outward[1], spot.outward[0]])
        # The distance outward is to the plate's nearest edge, so that wide plates do not lie over their arrows.
        deep = abs(spot.outward[0]) * width / 2 + abs(spot.outward[1]) * height / 2
        middles = spot.anchor + (OUT_OF[:, None] * self._q + deep) * spot.outward + ASIDE_OF[:, None] * self._q * side
        boxes = np.hstack([middles - (width / 2, height / 2), middles + (width / 2, height / 2)])
        away = np.hypot(*(middles - spot.anchor).T) / self._q
        return boxes, away + SIDEWAYS_COST * np.abs(ASIDE_OF) + spot.extra_q

    def _clear(self, boxes: Floats) -> NDArray[np.int_]:
        """Numbers of the boxes that lie in the frame and clear of obstacles, plates and leaders."""
        left, top, right, bottom = self._obstacles.frame
        room = INSIDE * self._q
        x0, y0, x1, y1 = boxes.T
        inside = (x0 >= left + room) & (y0 >= top + room) & (x1 <= right - room) & (y1 <= bottom - room)
        left_over = np.flatnonzero(inside)
        around = boxes[left_over] + np.array([-1, -1, 1, 1]) * CLEAR * self._q
        free = self._obstacles.free(around)
        left_over, (x0, y0, x1, y1) = left_over[free], around[free].T
        good = np.ones(len(left_over), bool)
        for a, b, c, d in self._boxes:
            good &= (x0 >= c) | (y0 >= d) | (x1 <= a) | (y1 <= b)
        if self._leaders:
            starts, ends = (np.array(points) for points in zip(*self._leaders, strict=True))
            good &= ~pass_through(starts[:, None], ends[:, None], np.column_stack([x0, y0, x1, y1])).any(axis=0)
        return left_over[good]

    def _leader(self, label: Label, anchor: Floats, box: Floats) -> tuple[Floats, Floats] | None:
        """The line from the arrow's middle to the nearest point of the plate, if it is long enough to be needed."""
        end = nearest_points(anchor, box[None])[0]
        needed = label.leader and float(np.hypot(*(end - anchor))) >= LEADER_FROM * self._q
        return (anchor, end) if needed else None

    def _first_reachable(self, label: Label, anchor: Floats, boxes: Floats, order: NDArray[np.int_]) -> int | None:
        """The first of the boxes, in `order`, that needs no leader or whose leader crosses nothing."""
        if not label.leader:
            return int(order[0]) if len(order) else None
        for start in range(0, len(order), AT_ONCE):
            some = order[start : start + AT_ONCE]
            good = self._leaders_free(anchor, nearest_points(anchor, boxes[some]), label.owner)
            if good.any():
                return int(some[np.argmax(good)])
        return None

    def _leaders_free(self, anchor: Floats, ends: Floats, owner: int) -> NDArray[np.bool_]:
        """Which leaders cross nothing but their own arrow (beside which the marks' disc begins)."""
        points = points_on(anchor, ends, LOOKS)
        owners = self._obstacles.owners(points)
        near = np.hypot(points[..., 0] - anchor[0], points[..., 1] - anchor[1]) < LEADER_FROM * self._q
        free = np.asarray((owners == FREE) | (owners == owner) | (near & (owners == SOLID))).all(axis=-1)
        if self._boxes:
            around = np.array(self._boxes) + np.array([-1, -1, 1, 1]) * CLEAR * self._q
            free &= ~pass_through(anchor, ends[:, None], around[None]).any(axis=-1)
        if self._leaders:
            starts, others = (np.array(points) for points in zip(*self._leaders, strict=True))
            free &= ~crossings(anchor, ends[:, None], starts, others).any(axis=-1)
        short = np.hypot(*(ends - anchor).T) < LEADER_FROM * self._q
        return np.asarray(free | short)


def place_all(obstacles: Obstacles, tries: Sequence[Sequence[Sequence[Label]]]) -> list[Placed | None]:
    """Place labels in their order; where a move finds no room, start again with the next of `tries`.

    Each try lists for every label the forms it may take, the best first. What finds no room in the last try is None.
    """
    for number, labels in enumerate(tries):
        placer = Placer(obstacles)
        done: list[Placed | None] = []
        for forms in labels:
            placed = next((p for form in forms if (p := placer.place(form)) is not None), None)
            if placed is None and forms[0].plate.kind in ("worst", "move") and number < len(tries) - 1:
                break
            done.append(placed)
        else:
            return done
    return []
