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
    """Pairs, arrays (m,): turned by `turn` segments, circle `one` lies `apart_mm` from circle `other`."""

    one: Integers
    other: Integers
    turn: Integers
    apart_mm: Floats

    def take(self, which: NDArray[np.generic]) -> "Carried":
        """Those at `which` (indices or mask)."""
        return Carried(self.one[which], self.other[which], self.turn[which], self.apart_mm[which])


def carried(xy: Floats, size: Floats, order: int, reach_mm: float) -> Iterator[Carried]:
    """All pairs of circles that some turn, none included, brings within reach of one another; some at a time.

    All segments are laid on one another, so that every pair is a pair of neighbours there.

    Parameters
    ----------
    xy : ndarray (n, 2)
        From the centre.
    size : ndarray (n,)
        Most pairs whose sizes differ by more than the reach are left out.
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
    # Each class of sizes lies on a strip of its own and looks at those beside it.
    next_strip = np.array([0.0, 2 * arm.max(initial=0.0) + 4 * reach_mm])
    strip = np.floor(size / reach_mm)[:, None] * next_strip
    near = Near(_turned(arm[point], there[turn, point]) + strip[point])
    for k in (-1, 0, 1):
        for one, which, apart in near.parts(home + strip + k * next_strip, reach_mm):
            other, by = point[which], (-segment[one] - turn[which]) % order
            kept = np.flatnonzero((one != other) | (by != 0))
            yield Carried(one[kept], other[kept], by[kept], apart[kept])


def _turned(arm: Floats, angle: Floats) -> Floats:
    return np.stack([arm * np.cos(angle), arm * np.sin(angle)], -1)


def together(parts: Sequence[Carried]) -> Carried:
    """All pairs of the parts, in their order."""
    none = np.zeros(0, np.int64)
    one, other, turn = (
        np.concatenate([none, *(getattr(part, name) for part in parts)]) for name in ("one", "other", "turn")
    )
    return Carried(one, other, turn, np.concatenate([np.zeros(0), *(part.apart_mm for part in parts)]))
