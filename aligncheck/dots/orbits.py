"""Orbits: dots that are one another's like, one in each segment."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.carried import Carried, carried, together
from aligncheck.dots.support import OFF_PLACE_MM, OFF_SIZE, kind_of
from aligncheck.geometry.near import Near, best_first
from aligncheck.geometry.small import median, medians, nanmedians

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: Farther than this many standard deviations of a hand is no like, in place, size and colour together.
GATE = 3.2
#: A place may be off by no more than so many mm and this share of the dot's diameter, so that neighbours in a run are
#: kept apart.
OFF_MM, OFF_DIAMETER = 0.35, 0.55
#: Fewer than this share of the segments is chance.
LEAST_SHARE = 0.5
#: So often an orbit's places are taken from its members and its members looked for anew.
ROUNDS = 2


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
    members: Integers

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

    Seeds that are not one another's like are worked side by side. Where two orbits want one circle, the better seed's
    has it and the other is tried anew with what is left.

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
    circles = _Circles(xy, radius_mm, kind_of(radius_mm, colour, same_colour), order)
    pairs = circles.like()
    free, hopeful = np.ones(len(xy), bool), circles.hopeful(pairs)
    orbits: list[Orbit] = []
    while True:
        seeds = _seeds(pairs, score, free & hopeful)
        if not len(seeds):
            return orbits
        members = circles.settled(circles.first(pairs, seeds, free), free)
        enough = (members >= 0).sum(1) >= LEAST_SHARE * order
        places = circles.places(members)
        for k, seed in enumerate(seeds):
            mine = members[k][members[k] >= 0]
            if enough[k] and not free[mine].all():
                continue
            hopeful[seed] = False
            if enough[k]:
                free[mine] = False
                radius = median(radius_mm[mine])
                orbits.append(Orbit(places[k], radius, medians(colour[mine], axis=0), members[k]))


def _seeds(pairs: Carried, score: Floats, may: NDArray[np.bool_]) -> Integers:
    """The best of the circles that may be seeds, the best first, none the like of another."""
    both = may[pairs.one] & may[pairs.other]
    value = np.where(may, score, -np.inf)
    stands = best_first(value, pairs.one[both], pairs.other[both]) & may
    best = np.argsort(-value, kind="stable")
    return np.asarray(best[stands[best]], np.int64)


@dataclass(frozen=True)
class _Circles:
    """Circles (n,) about the centre: places, radii, and what kind they are of (n, 4), in mm of a place."""

    xy: Floats
    radius_mm: Floats
    kind: Floats
    order: int

    def like(self) -> Carried:
        """Pairs of like circles, each carried onto the other by some turn."""
        found = carried(self.xy, self.kind, self.order, GATE * OFF_PLACE_MM)
        return together([pairs.take(pairs.apart_mm < _limit(self.radius_mm[pairs.one])) for pairs in found])

    def hopeful(self, pairs: Carried) -> NDArray[np.bool_]:
        """Which circles have like ones enough for an orbit: most have not."""
        seen = np.zeros((len(self.xy), self.order), bool)
        # A circle is always its own like in its own segment.
        seen[:, 0] = True
        seen[pairs.one, pairs.turn] = True
        return np.asarray(seen.sum(1) >= LEAST_SHARE * self.order, bool)

    def first(self, pairs: Carried, seeds: Integers, free: NDArray[np.bool_]) -> Integers:
        """Members (seeds, N): the likest free circle at every turn of each seed."""
        row = np.full(len(self.xy), -1, np.int64)
        row[seeds] = np.arange(len(seeds))
        mine = (row[pairs.one] >= 0) & free[pairs.other] & (pairs.turn > 0)
        place = row[pairs.one[mine]] * self.order + pairs.turn[mine]
        members = self._nearest(place, pairs.other[mine], pairs.unlike_mm[mine], len(seeds))
        members[:, 0] = seeds
        return members

    def settled(self, members: Integers, free: NDArray[np.bool_]) -> Integers:
        """Members (m, N) looked for anew about the middle of those there are; too few stay as they are."""
        for _ in range(ROUNDS):
            rows = np.flatnonzero((members >= 0).sum(1) >= LEAST_SHARE * self.order)
            some = members[rows]
            there = np.where((some >= 0)[..., None], self.kind[some], np.nan)
            own = nanmedians(np.ascontiguousarray(there.transpose(0, 2, 1)))
            limit = np.repeat(_limit(np.exp(own[:, 0] * OFF_SIZE / OFF_PLACE_MM)), self.order)
            loose = np.flatnonzero(free)
            place, which, apart = Near(self.xy[loose]).pairs(
                self.places(some).reshape(-1, 2), np.minimum(limit, GATE * OFF_PLACE_MM)
            )
            which = loose[which]
            unlike = np.sqrt(apart**2 + ((self.kind[which] - own[place // self.order]) ** 2).sum(1))
            near = unlike < GATE * OFF_PLACE_MM
            members = members.copy()
            members[rows] = self._nearest(place[near], which[near], unlike[near], len(rows))
        return members

    def places(self, members: Integers) -> Floats:
        """Places (m, N, 2) about the middle of the members (m, N), each turned back to the first segment."""
        matrices = turns(self.order)
        back = np.einsum("kji,mkj->mik", matrices, self.xy[members])
        home = nanmedians(np.where((members >= 0)[:, None], back, np.nan))
        return np.einsum("kij,mj->mki", matrices, home)

    def _nearest(self, place: Integers, which: Integers, unlike: Floats, rows: int) -> Integers:
        """Members (rows, N): at each place the likest circle; no circle twice in a row, where it is likest it stays."""
        found = np.full(rows * self.order, -1, np.int64)
        by_unlike = np.argsort(unlike, kind="stable")
        place, which = place[by_unlike], which[by_unlike]
        _, at = np.unique(place, return_index=True)
        at.sort()
        place, which = place[at], which[at]
        _, at = np.unique(place // self.order * len(self.xy) + which, return_index=True)
        found[place[at]] = which[at]
        return found.reshape(rows, self.order)


def _limit(radius_mm: Floats) -> Floats:
    """How far off its place a circle of this radius may lie, mm."""
    return np.asarray(OFF_MM + OFF_DIAMETER * 2 * radius_mm, float)
