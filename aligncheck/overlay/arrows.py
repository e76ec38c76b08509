"""How long the arrows are: one factor for the whole picture, so that they can be compared."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift import Drift
from aligncheck.geometry.angles import bearing
from aligncheck.overlay import shapes
from aligncheck.overlay.canvas import HOLLOW, Canvas
from aligncheck.overlay.colours import MOVE
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.view import View

Floats = NDArray[np.float64]

TIMES = (1, 2, 5, 10, 20, 50)
#: In q. The shortest arrow must still show its head and a piece of shaft.
SHORTEST = 12.0
SHAFT, HEAD_LONG, HEAD_WIDE, RIM = 5.0, 9.0, 14.0, 1.8
LONGEST = 80.0
#: No arrow takes more of the gap to the next spoke; two that come towards each other share it.
GAP_SHARE, MEETING_SHARE = 0.8, 0.42
#: An unsure arrow has one length, because its length would claim what is not known.
UNSURE_LONG = 13.0
UNSURE_SHAFT, UNSURE_HEAD_LONG, UNSURE_HEAD_WIDE = 4.0, 8.0, 12.0


class Lengths(NamedTuple):
    """How long arrows are drawn in one picture.

    `times`: the factor of all. `limits_mm`: the longest arrow that each spoke (in the order of the drift) has room
    for, and last the longest for a ring. `cut`: whether one is cut to that.
    """

    times: int
    limits_mm: tuple[float, ...]
    cut: bool

    def drawn_mm(self, move_mm: float, number: int) -> float:
        """Length of the arrow for a move of spoke `number` (-1 for a ring), with its sign."""
        limit = self.limits_mm[number]
        return float(np.clip(move_mm * self.times, -limit, limit))


def choose_lengths(view: View, drift: Drift, lane: Lane) -> Lengths:
    """The least factor that makes the shortest move's arrow long enough to be seen as one."""
    longest = view.mm(LONGEST)
    limits = [min(room, longest) for room in _rooms_mm(drift, lane)] + [longest]
    moves = [(abs(s.move_mm), limit) for s, limit in zip(drift.spokes, limits, strict=False) if s.verdict == "out"]
    moves += [(abs(r.drift_mm), longest) for r in drift.rings if r.verdict == "out"]
    if not moves:
        return Lengths(1, tuple(limits), cut=False)
    shortest = min(move for move, _ in moves)
    times = next((t for t in TIMES if t * shortest >= view.mm(SHORTEST)), TIMES[-1])
    return Lengths(times, tuple(limits), any(times * move > limit for move, limit in moves))


def _rooms_mm(drift: Drift, lane: Lane) -> list[float]:
    """Room for each spoke's arrow before it meets the next spoke, or that one's arrow if it comes the other way."""
    bearings = [float(bearing(s.spoke.outer_mm - lane.centre_mm)) for s in drift.spokes]
    ways = [0 if s.verdict == "within" else 1 if s.move_mm > 0 else -1 for s in drift.spokes]
    rooms = []
    for k, way in enumerate(ways):
        other = (k + (way or 1)) % len(ways)
        gap = (way or 1) * (bearings[other] - bearings[k]) % 360.0 or 360.0
        share = MEETING_SHARE if ways[other] == -way else GAP_SHARE
        rooms.append(share * np.radians(gap) * float(lane.radius_mm(bearings[k])))
    return rooms


def solid_arrow_outline(path: Floats, q: float) -> Floats:
    """The outline of a move's arrow along `path`."""
    return shapes.arrow(path, SHAFT * q, HEAD_LONG * q, HEAD_WIDE * q)


def hollow_arrow_outline(path: Floats, q: float) -> Floats:
    """The outline of an unsure arrow along `path`."""
    return shapes.arrow(path, UNSURE_SHAFT * q, UNSURE_HEAD_LONG * q, UNSURE_HEAD_WIDE * q)


def draw_solid(canvas: Canvas, outline: Floats) -> None:
    """Filled: do it."""
    canvas.solid(outline, MOVE, RIM)


def draw_hollow(canvas: Canvas, outline: Floats) -> None:
    """Hollow: not sure."""
    canvas.line(outline, HOLLOW, closed=True)
