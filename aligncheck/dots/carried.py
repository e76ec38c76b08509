"""Circles that a turn by whole segments carries onto, or near to, one another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True)
class Carried:
    """Pairs, arrays (m,): turned by `turn` segments, circle `one` lies `apart_mm` from circle `other`; place and kind
    together they are `unlike_mm`.
    """

    one: Integers
    other: Integers
    turn: Integers
    apart_mm: Floats
    unlike_mm: Floats

    def take(self, which: NDArray[np.generic]) -> "Carried":
        """Those at `which` (indices or mask)."""
        names = ("one", "other", "turn", "apart_mm", "unlike_mm")
        return Carried(*(getattr(self, name)[which] for name in names))


def carried(xy: Floats, kind: Floats, order: int, reach_mm: float) -> Iterator[Carried]:
    """All pairs of circles that some turn, none included, brings within reach of one another; some at a time.

    All segments are laid on one another, so that every pair is a pair of neighbours there. Where many circles lie
    close together most neighbours are of other kinds: size and colour are further directions to be near in.

    Parameters
    ----------
    xy : ndarray (n, 2)
        From the centre.
    kind : ndarray (n, d)
        Size, colour or whatever else tells, in mm of a place.
    reach_mm : float
        Of place and kind together.
    """
    pitch = 2 * np.pi / order
    angle = np.arctan2(xy[:, 1], xy[:, 0]) % (2 * np.pi)
    arm = np.hypot(*xy.T)
    # The segment of each, so that turning it back brings the point to the first one.
    segment = np.minimum((angle / pitch).astype(np.int64), order - 1)
    home = _turned(arm, angle - segment * pitch)
    # Where a point comes to by each turn, if that is in the first segment or within reach of it.
    there = (angle + np.arange(order)[:, None] * pitch) % (2 * np.pi)
    beyond = np.minimum(np.maximum(there - pitch, 0), 2 * np.pi - there)
    turn, point = np.nonzero((there < pitch) | (arm * np.sin(np.minimum(beyond, np.pi / 2)) < reach_mm))
    placed = _turned(arm[point], there[turn, point])
    near = Near(np.column_stack([placed, kind[point]]))
    for one, which, unlike in near.parts(np.column_stack([home, kind]), reach_mm):
        other, by = point[which], (-segment[one] - turn[which]) % order
        kept = np.flatnonzero((one != other) | (by != 0))
        apart = np.hypot(*(home[one[kept]] - placed[which[kept]]).T)
        yield Carried(one[kept], other[kept], by[kept], apart, unlike[kept])


def _turned(arm: Floats, angle: Floats) -> Floats:
    return np.stack([arm * np.cos(angle), arm * np.sin(angle)], -1)


def together(parts: Sequence[Carried]) -> Carried:
    """All pairs of the parts, in their order."""
    none, nowhere = np.zeros(0, np.int64), np.zeros(0)
    one, other, turn = (
        np.concatenate([none, *(getattr(part, name) for part in parts)]) for name in ("one", "other", "turn")
    )
    apart, unlike = (
        np.concatenate([nowhere, *(getattr(part, name) for part in parts)]) for name in ("apart_mm", "unlike_mm")
    )
    return Carried(one, other, turn, apart, unlike)
