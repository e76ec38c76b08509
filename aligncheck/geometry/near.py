"""Which points of the plane lie near which, all at once; and of things that exclude one another the best."""

from collections.abc import Iterator
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.side_by_side import beside

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: So many places are asked for at a time, which bounds memory.
PLACES = 4096


def make_ready() -> None:
    """Load SciPy, which takes a quarter of a second: beside other work, where it will be needed."""
    import scipy.spatial  # noqa: F401


class Near:
    """Points (n, d) to be asked what lies near other places.

    Parameters
    ----------
    points : ndarray (n, d)
    """

    def __init__(self, points: ArrayLike) -> None:
        # Only photos of painted pieces get here: others need not wait for SciPy.
        from scipy.spatial import cKDTree

        self.tree = cKDTree(_table(points))

    def pairs(self, places: ArrayLike, within: ArrayLike) -> tuple[Integers, Integers, Floats]:
        """Place and point (m,) of all that lie within `within`, one number or one a place, and their distances (m,).

        Ordered by place, then point.
        """
        none = np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0)
        found = zip(none, *self.parts(places, within), strict=True)
        place, point, distance = (np.concatenate(part) for part in found)
        # One number of two: sorting by two keys takes three times as long.
        order = np.argsort(place * self.tree.n + point)
        return place[order], point[order], distance[order]

    def parts(self, places: ArrayLike, within: ArrayLike) -> Iterator[tuple[Integers, Integers, Floats]]:
        """The same some at a time, where all would take too much memory; in no order."""
        table = _table(places)
        reach = np.broadcast_to(np.asarray(within, float), len(table))
        firsts = range(0, len(table), PLACES)
        if not firsts:
            return
        # The next are looked up beside what is made of these.
        found = self._part(table, reach, 0)
        for following in firsts[1:]:
            begun = beside(partial(self._part, table, reach, following))
            yield found
            found = begun()
        yield found

    def _part(self, places: Floats, reach: Floats, first: int) -> tuple[Integers, Integers, Floats]:
        """Those of some places from `first` on."""
        from scipy.spatial import cKDTree

        own = reach[first : first + PLACES]
        asking = cKDTree(places[first : first + PLACES])
        table = asking.sparse_distance_matrix(self.tree, float(own.max()), output_type="ndarray")
        # Each column by itself is quicker to work with than rows of three.
        place, point, distance = (np.ascontiguousarray(table[name]) for name in "ijv")
        inside = np.flatnonzero(distance < own[place])
        return place[inside] + first, point[inside], distance[inside]


def _table(points: ArrayLike) -> Floats:
    """Points (n, d), also where there are none."""
    table = np.asarray(points, float)
    return table if table.ndim == 2 else table.reshape(-1, 2)


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
