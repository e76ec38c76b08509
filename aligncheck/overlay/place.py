"""Finding a spot for every label: beside what it names, over nothing else.

Each label tries spots outward along its ray and sideways, the nearest first. A spot counts only if the plate clears
all obstacles and the plates placed before it, stays in the frame, and its leader crosses nothing but its own arrow.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay.plates import BORDER, Plate
from aligncheck.overlay.view import Box

Floats = NDArray[np.float64]

#: In q: how far out and to the sides, in which steps.
OUT_Q = np.arange(6.0, 110.1, 2.5)
SIDE_Q = np.arange(-56.0, 56.1, 3.5)
#: In q: room round a plate and its border, room to the frame, shortest leader that is drawn.
CLEAR, INSIDE, LEADER_FROM = 1.6 + BORDER, 2.0 + BORDER, 9.0
#: A label straight out from its arrow reads better than one as near but to the side.
SIDEWAYS_COST = 0.35
#: Obstacles are looked up on a grid of this many cells in a q.
CELLS = 2.0
FREE, SOLID = 0, 1


@dataclass(frozen=True)
class Spot:
    """Where a label may hang: its arrow's middle and the way outward (both (2,), px), and what it costs beside that."""

    anchor: Floats
    outward: Floats
    extra_q: float = 0.0


@dataclass(frozen=True)
class Label:
    """A plate that wants a place.

    `spots`: rays to choose from. `owner`: number of its arrow among the obstacles, which its leader may cross.
    `leader`: whether it is tied to its arrow by a line.
    """

    plate: Plate
    spots: tuple[Spot, ...]
    owner: int
    leader: bool = True


@dataclass(frozen=True)
class Placed:
    """A label in its place: the plate's box, the leader's two ends (or None), which of its spots was taken."""

    label: Label
    box: Box
    leader: tuple[Floats, Floats] | None
    spot: int


class Obstacles:
    """What no plate may cover, on a grid: each filled polygon with the number of its owner."""

    def __init__(self, frame: Box, q: float):
        self.frame, self.q = frame, q
        self._per_px = CELLS / q
        left, top, right, bottom = frame
        size = (int(np.ceil((bottom - top) * self._per_px)) + 1, int(np.ceil((right - left) * self._per_px)) + 1)
        self._grid = np.zeros(size, np.int16)
        self._sums: NDArray[np.int32] | None = None
        self._last_owner = SOLID

    def new_owner(self) -> int:
        """A number for something that only its own leader may cross."""
        self._last_owner += 1
        return self._last_owner

    def add(self, polygon: Floats, owner: int = SOLID, rim_q: float = 0.0) -> None:
        """Add a filled polygon (n, 2) in pixels, with a rim around it."""
        cells = np.round(self._cells(polygon)).astype(np.int32)
        cv2.fillPoly(self._grid, [cells], owner)
        cv2.polylines(self._grid, [cells], True, owner, max(1, round(2 * CELLS * rim_q)))
        self._sums = None

    def add_box(self, box: Box) -> None:
        """Add a box (left, top, right, bottom)."""
        left, top, right, bottom = box
        self.add(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))

    def free(self, boxes: Floats) -> NDArray[np.bool_]:
        """Which of `boxes` (n, 4) touch no obstacle; cells cut by a box count as covered by it."""
        if self._sums is None:
            self._sums = np.asarray(cv2.integral((self._grid > 0).astype(np.uint8)), np.int32)
        cells = self._cells(boxes.reshape(-1, 2)).reshape(-1, 4)
        height, width = self._grid.shape
        x0, x1 = (np.clip(np.floor(cells[:, k]).astype(int) + k // 2, 0, width) for k in (0, 2))
        y0, y1 = (np.clip(np.floor(cells[:, k]).astype(int) + k // 2, 0, height) for k in (1, 3))
        s = self._sums
        return np.asarray(s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0] == 0)

    def owners(self, points: Floats) -> NDArray[np.int16]:
        """Who owns the ground at `points` (n, 2)."""
        cells = np.round(self._cells(points)).astype(int)
        height, width = self._grid.shape
        return self._grid[np.clip(cells[:, 1], 0, height - 1), np.clip(cells[:, 0], 0, width - 1)]

    def _cells(self, points: Floats) -> Floats:
        return (points - np.array(self.frame[:2])) * self._per_px


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
            for k in good[np.argsort(costs[good], kind="stable")]:
                if found is not None and costs[k] >= found[0]:
                    break
                ends = self._leader(spot.anchor, boxes[k]) if label.leader else None
                if ends is None or self._may_cross(ends, label.owner):
                    box = (float(boxes[k, 0]), float(boxes[k, 1]), float(boxes[k, 2]), float(boxes[k, 3]))
                    found = float(costs[k]), Placed(label, box, ends, number)
                    break
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
        out, across = (v.ravel() for v in np.meshgrid(OUT_Q, SIDE_Q, indexing="ij"))
        middles = spot.anchor + (out[:, None] * self._q + deep) * spot.outward + across[:, None] * self._q * side
        boxes = np.column_stack([middles - (width / 2, height / 2), middles + (width / 2, height / 2)])
        away = np.hypot(*(middles - spot.anchor).T) / self._q
        return boxes, away + SIDEWAYS_COST * np.abs(across) + spot.extra_q

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
        for start, end in self._leaders:
            x, y = _points_between(start, end, self._q).T[:, :, None]
            good &= ~np.asarray((x > x0) & (x < x1) & (y > y0) & (y < y1)).any(axis=0)
        return left_over[good]

    def _leader(self, anchor: Floats, box: Floats) -> tuple[Floats, Floats] | None:
        """The line from the arrow's middle to the nearest point of the plate, if it is long enough to be needed."""
        end = np.clip(anchor, box[:2], box[2:])
        return (anchor, end) if np.hypot(*(end - anchor)) >= LEADER_FROM * self._q else None

    def _may_cross(self, leader: tuple[Floats, Floats], owner: int) -> bool:
        """Whether a leader crosses nothing but its own arrow (beside which the marks' disc begins)."""
        points = _points_between(*leader, self._q)
        near = np.hypot(*(points - leader[0]).T) < LEADER_FROM * self._q
        owners = self._obstacles.owners(points)
        if not ((owners == FREE) | (owners == owner) | (near & (owners == SOLID))).all():
            return False
        for left, top, right, bottom in self._boxes:
            if ((points > (left, top)) & (points < (right, bottom))).all(1).any():
                return False
        return not any(_cross(leader, other) for other in self._leaders)


def _points_between(start: Floats, end: Floats, step: float) -> Floats:
    """Points (n, 2) from `start` to `end`, at most `step` apart."""
    number = max(2, int(np.ceil(np.hypot(*(end - start)) / step)) + 1)
    return np.asarray(start + np.linspace(0, 1, number)[:, None] * (end - start))


def _cross(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> bool:
    """Whether two straight pieces cross."""

    def side(a: Floats, b: Floats, c: Floats) -> float:
        return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))

    return side(*one, other[0]) * side(*one, other[1]) < 0 and side(*other, one[0]) * side(*other, one[1]) < 0


def place_all(obstacles: Obstacles, tries: Sequence[Sequence[Sequence[Label]]]) -> list[Placed | None]:
    """Place labels in their order; where a move finds no room, start again with the next of `tries`.

    Each try lists for every label the forms it may take, the best first. The try that leaves out least is kept, the
    earlier at a tie.
    """
    best: list[Placed | None] = []
    least = None
    for labels in tries:
        placer = Placer(obstacles)
        done = [next((p for form in forms if (p := placer.place(form)) is not None), None) for forms in labels]
        out = [forms[0].plate.kind for forms, placed in zip(labels, done, strict=True) if placed is None]
        missing = (sum(kind in ("worst", "move") for kind in out), len(out))
        if least is None or missing < least:
            best, least = done, missing
        if missing[0] == 0:
            break
    return best
