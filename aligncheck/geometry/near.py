"""Which points of the plane lie near which, all at once; and of things that exclude one another the best.

SciPy's trees answer as well, but loading them takes longer than most photos have points for.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: So many pairs at a time are worked on, which bounds memory.
MOST_PAIRS = 1 << 18


class Near:
    """Points (n, 2) sorted into square cells, to be asked what lies near other places.

    Parameters
    ----------
    points : ndarray (n, 2)
    reach : float
        The largest distance that is asked for: the side of a cell.
    """

    def __init__(self, points: ArrayLike, reach: float) -> None:
        points = np.asarray(points, float).reshape(-1, 2)
        self.reach = max(float(reach), 1e-9)
        self.low = points.min(0) if len(points) else np.zeros(2)
        cell = np.floor((points - self.low) / self.reach).astype(np.int64)
        # An empty column at both ends keeps rows apart.
        self.wide = int(cell[:, 0].max(initial=0)) + 3
        self.tall = int(cell[:, 1].max(initial=0)) + 1
        key = cell[:, 1] * self.wide + cell[:, 0] + 1
        self.sorted = np.argsort(key, kind="stable")
        self.x, self.y = np.ascontiguousarray(points[self.sorted].T)
        self.first = np.searchsorted(key[self.sorted], np.arange(self.wide * self.tall + 1))

    def pairs(self, places: ArrayLike, within: ArrayLike) -> tuple[Integers, Integers, Floats]:
        """Place and point (m,) of all that lie within `within`, one number or one a place, and their distances (m,).

        Ordered by place.
        """
        none = np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0)
        found = zip(none, *self.parts(places, within), strict=True)
        place, point, distance = (np.concatenate(part) for part in found)
        return place, point, distance

    def parts(self, places: ArrayLike, within: ArrayLike) -> Iterator[tuple[Integers, Integers, Floats]]:
        """The same some at a time, where all would take too much memory."""
        places, within = np.asarray(places, float).reshape(-1, 2), np.asarray(within, float)
        if not len(self.x) or not len(places):
            return
        cell = np.floor((places - self.low) / self.reach)
        column = np.clip(cell[:, 0], -1, self.wide - 2).astype(np.int64) + 1
        rows = np.clip(cell[:, 1], -2, self.tall + 1).astype(np.int64)[:, None] + np.arange(-1, 2)
        there = (rows >= 0) & (rows < self.tall)
        cells = np.where(there, rows, 0) * self.wide + column[:, None]
        start, stop = self.first[np.maximum(cells - 1, 0)], self.first[np.minimum(cells + 2, len(self.first) - 1)]
        count = np.where(there, stop - start, 0)
        total = np.cumsum(count.sum(1))
        square = np.broadcast_to(within**2, len(places))
        parts = np.searchsorted(total, np.arange(MOST_PAIRS, int(total[-1]), MOST_PAIRS))
        for a, b in zip([0, *parts], [*parts, len(places)], strict=True):
            n = count[a:b].ravel()
            each = count[a:b].sum(1)
            at = np.repeat(start[a:b].ravel() - (np.cumsum(n) - n), n) + np.arange(n.sum())
            x, y = self.x[at] - np.repeat(places[a:b, 0], each), self.y[at] - np.repeat(places[a:b, 1], each)
            distance2 = x * x + y * y
            near = np.flatnonzero(distance2 < np.repeat(square[a:b], each))
            yield np.repeat(np.arange(a, b), each)[near], self.sorted[at[near]], np.sqrt(distance2[near])


def best_first(worth: ArrayLike, one: Integers, other: Integers) -> NDArray[np.bool_]:
    """Which things (n,) stand if the best is taken first and each removes those that it excludes.

    Parameters
    ----------
    worth : ndarray (n,)
        Of equals the earlier goes first.
    one, other : ndarray (m,) of int
        Pairs that exclude one another, each once or twice.
    """
    value = np.asarray(worth, float)
    rank = np.empty(len(value), np.int64)
    rank[np.argsort(-value, kind="stable")] = np.arange(len(value))
    gone = np.zeros(len(value), bool)
    two = one != other
    better = np.where(rank[one] < rank[other], one, other)[two]
    worse = np.where(rank[one] < rank[other], other, one)[two]
    while len(better):
        # What nothing better disputes any more stands, and takes away what it excludes.
        disputed = np.zeros(len(value), bool)
        disputed[worse] = True
        sure = ~disputed[better]
        gone[worse[sure]] = True
        left = ~gone[better] & ~gone[worse]
        better, worse = better[left], worse[left]
    return ~gone
