"""Orbits: dots that are one another's like, one in each segment."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from aligncheck.dots.support import OFF_PLACE_MM, OFF_SIZE

Floats = NDArray[np.float64]

#: Farther than this many standard deviations of a hand is no like, in place, size and colour together.
GATE = 3.2
#: A place may be off by no more than this share of the dot's diameter, so that neighbours in a run are kept apart.
OFF_DIAMETER = 0.55
#: Fewer than this share of the segments is chance.
LEAST_SHARE = 0.5


@dataclass(frozen=True)
class Orbit:
    """One kind of dot and its N places.

    Attributes
    ----------
    place_mm : ndarray (N, 2)
        Where its dots should be, from the centre, by the middle of them all turned to one segment.
    radius_mm : float
    colour : ndarray (3,)
    members : ndarray (N,) of int
        Index of each place's circle, -1 where there is none.
    """

    place_mm: Floats
    radius_mm: float
    colour: Floats
    members: NDArray[np.int64]

    @property
    def count(self) -> int:
        """How many of its places are filled."""
        return int((self.members >= 0).sum())


def turns(order: int) -> Floats:
    """Matrices (order, 2, 2) that turn by 0, 1, 2 ... segments clockwise (y down)."""
    angle = np.arange(order) * (2 * np.pi / order)
    cos, sin = np.cos(angle), np.sin(angle)
    return np.stack([np.stack([cos, -sin], -1), np.stack([sin, cos], -1)], -2)


def gather(xy: Floats, radius_mm: Floats, colour: Floats, score: Floats, order: int, same_colour: float) -> list[Orbit]:
    """Sort circles into orbits, the best seed first; each circle belongs to one at most.

    Parameters
    ----------
    xy : ndarray (n, 2)
        From the centre, mm.
    score : ndarray (n,)
    same_colour : float
        Distance of colours of one paint (standard deviation).
    """
    if order < 2 or not len(xy):
        return []
    size = np.log(radius_mm) * (OFF_PLACE_MM / OFF_SIZE)
    features = np.column_stack([xy, size, colour * (OFF_PLACE_MM / same_colour)])
    tree = cKDTree(features)
    free = np.ones(len(xy), bool)
    matrices = turns(order)
    hopeful = _hopeful(tree, features, xy, matrices, radius_mm)
    orbits = []
    for i in np.argsort(-score, kind="stable"):
        if not free[i] or not hopeful[i]:
            continue
        members = _like(tree, features, free, np.einsum("kij,j->ki", matrices, xy[i]), features[i, 2:], radius_mm[i])
        members[0] = i
        for _ in range(2):
            taken = members >= 0
            if taken.sum() < LEAST_SHARE * order:
                break
            own = np.median(features[members[taken], 2:], axis=0)
            home = _home(xy, members, matrices)
            places = np.einsum("kij,j->ki", matrices, home)
            members = _like(tree, features, free, places, own, float(np.exp(own[0] * OFF_SIZE / OFF_PLACE_MM)))
        taken = members >= 0
        if taken.sum() < LEAST_SHARE * order:
            continue
        free[members[taken]] = False
        radius = float(np.median(radius_mm[members[taken]]))
        places = np.einsum("kij,j->ki", matrices, _home(xy, members, matrices))
        orbits.append(Orbit(places, radius, np.median(colour[members[taken]], axis=0), members))
    return orbits


def _hopeful(tree: cKDTree, features: Floats, xy: Floats, matrices: Floats, radius_mm: Floats) -> NDArray[np.bool_]:
    """Which circles (n,) have like ones enough for an orbit while all are free: asked at once, for most have not."""
    order = len(matrices)
    places = xy @ matrices.transpose(0, 2, 1)
    rest = np.broadcast_to(features[:, 2:], (order, len(xy), features.shape[1] - 2))
    ask = np.concatenate([places, rest], axis=-1).reshape(-1, features.shape[1])
    _, index = tree.query(ask, k=min(6, len(features)), distance_upper_bound=GATE * OFF_PLACE_MM)
    index = index.reshape(order, len(xy), -1)
    seen = index < len(features)
    apart = features[np.where(seen, index, 0), :2] - places[:, :, None]
    near = seen & (np.hypot(apart[..., 0], apart[..., 1]) < 0.35 + OFF_DIAMETER * 2 * radius_mm[:, None])
    # A circle is always its own like in its own segment.
    found = near[1:].any(-1).sum(0) + 1
    return np.asarray(found >= LEAST_SHARE * order, bool)


def _home(xy: Floats, members: NDArray[np.int64], matrices: Floats) -> Floats:
    """Middle (2,) of the members, each turned back to the first segment."""
    taken = np.flatnonzero(members >= 0)
    back = np.einsum("kji,kj->ki", matrices[taken], xy[members[taken]])
    return np.asarray(np.median(back, axis=0), float)


def _like(
    tree: cKDTree, features: Floats, free: NDArray[np.bool_], places: Floats, own: Floats, radius_mm: float
) -> NDArray[np.int64]:
    """The nearest free circle of its kind at each place (N,), -1 where none is near enough."""
    ask = np.column_stack([places, np.broadcast_to(own, (len(places), len(own)))])
    distance, index = tree.query(ask, k=min(6, len(features)), distance_upper_bound=GATE * OFF_PLACE_MM)
    distance, index = np.atleast_2d(distance), np.atleast_2d(index)
    seen = np.isfinite(distance)
    index = np.where(seen, index, 0)
    off = np.hypot(*np.moveaxis(features[index, :2] - places[:, None], -1, 0))
    usable = seen & free[index] & (off < 0.35 + OFF_DIAMETER * 2 * radius_mm)
    best = np.where(usable, distance, np.inf).argmin(1)
    rows = np.arange(len(places))
    members = np.where(usable[rows, best], index[rows, best], -1)
    # One circle may be nearest to two places only by accident: the nearer keeps it.
    order = np.argsort(distance[rows, best])
    _, first = np.unique(members[order], return_index=True)
    once = np.full(len(places), -1, np.int64)
    once[order[first]] = members[order[first]]
    return once
