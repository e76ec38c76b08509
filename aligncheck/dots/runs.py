"""Walked runs: dots that diminish along a curve, each set beside the one before it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrangement import Run
from aligncheck.dots.places import Places
from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: One dot over the one before it: a tool is dipped once for a run, and each dot takes paint away.
LEAST_STEP, MOST_STEP = 0.5, 0.97
#: The next dot's middle is at most so many diameters of the dot before it away: walked dots touch, or stand beside
#: those of a larger run and keep its pace.
FARTHEST = 3.0
#: A curve bends so much from dot to dot at most, degrees; step and pace change by so much (natural logs).
BEND_DEG, STEP_CHANGE, PACE_CHANGE = 45.0, 0.22, 0.35
#: Three dots in a row may be a run; its last must be this much smaller than its first.
LEAST_SHRINK = 0.85


@dataclass(frozen=True)
class _Links:
    """What may follow what, arrays (m,): from a kind's dot in the first segment, `kind`, to `other` so many turns on.

    Ordered by `kind`.
    """

    kind: Integers
    other: Integers
    turn: Integers

    def of(self, kind: int) -> tuple[Integers, Integers]:
        """What is linked to a kind: the kinds, and by how many turns."""
        some = slice(*np.searchsorted(self.kind, (kind, kind + 1)))
        return self.other[some], self.turn[some]


def runs_of(places: Places) -> tuple[Run, ...]:
    """All runs, the longest first; every kind in one run at most.

    Medians over all segments are searched, so that one odd dot neither breaks a run nor makes one.
    """
    after, before = _links(places)
    free = np.ones(len(places.diameter_mm), bool)
    found = []
    for chain in _triples(places, after, before):
        if not free[chain[:, 0]].all():
            continue
        whole = _extended(places, after, before, chain, free)
        kinds = whole[:, 0]
        if places.diameter_mm[kinds[-1]] > LEAST_SHRINK * places.diameter_mm[kinds[0]]:
            continue
        free[kinds] = False
        found.append(_run(places, [(int(kind), int(turn)) for kind, turn in whole]))
    return tuple(sorted(found, key=lambda run: (-len(run.kinds), run.places_mm[0] @ run.places_mm[0])))


def _links(places: Places) -> tuple[_Links, _Links]:
    """Pairs of places that stand as one dot and the next: what comes after each kind, and what before it."""
    order, size = places.dot.shape[1], places.diameter_mm
    reach = FARTHEST * size
    near = Near(places.xy_mm.reshape(-1, 2))
    kind, spot, _ = near.pairs(places.xy_mm[:, 0], reach)
    other, turn = np.divmod(spot, order)
    ratio = size[other] / size[kind]
    linked = (other != kind) & (ratio > LEAST_STEP) & (ratio < MOST_STEP)
    kind, other, turn = kind[linked], other[linked], turn[linked]
    back = np.argsort(other, kind="stable")
    return _Links(kind, other, turn), _Links(other[back], kind[back], (-turn[back]) % order)


def _triples(places: Places, after: _Links, before: _Links) -> Integers:
    """Three dots (m, 3, 2) that may be part of a run, each a kind and a turn, the most even first."""
    on = np.bincount(after.kind, minlength=len(places.diameter_mm))
    # Every way here with every way on from here.
    each = on[before.kind]
    first = np.repeat(np.arange(len(before.kind)), each)
    start = np.cumsum(on) - on
    last = np.arange(len(first)) - np.repeat(np.cumsum(each) - each, each) + start[before.kind[first]]
    zero = np.zeros_like(first)
    chains = np.stack(
        [
            np.stack([before.other[first], before.turn[first]], -1),
            np.stack([before.kind[first], zero], -1),
            np.stack([after.other[last], after.turn[last]], -1),
        ],
        axis=1,
    )
    chains = chains[chains[:, 0, 0] != chains[:, 2, 0]]
    cost = _cost(places, chains)
    some = np.flatnonzero(np.isfinite(cost))
    return chains[some[np.lexsort((*chains[some].reshape(-1, 6).T[::-1], cost[some]))]]


def _cost(places: Places, chains: Integers) -> Floats:
    """How unevenly three dots (m, 3, 2) follow one another, 0 to 4; infinite where they make no run."""
    spots = places.xy_mm[chains[..., 0], chains[..., 1]]
    size = places.diameter_mm[chains[..., 0]]
    one, two = spots[:, 1] - spots[:, 0], spots[:, 2] - spots[:, 1]
    near, far = np.hypot(*one.T), np.hypot(*two.T)
    bend = np.degrees(np.arccos(np.clip((one * two).sum(1) / np.maximum(near * far, 1e-12), -1, 1)))
    change = np.abs(np.log(size[:, 1] ** 2 / (size[:, 0] * size[:, 2])))
    # Touching dots come closer as they shrink, dots beside another run keep their pace: both are even.
    quicker = np.log(np.maximum(far, 1e-9) / np.maximum(near, 1e-9))
    touching = np.abs(quicker - np.log((size[:, 1] + size[:, 2]) / (size[:, 0] + size[:, 1])))
    pace = np.minimum(np.abs(quicker), touching)
    # Of several ways on, the nearest dot.
    close = (near + far) / (2 * FARTHEST * size[:, 0])
    cost = bend / BEND_DEG + change / STEP_CHANGE + pace / PACE_CHANGE + close
    return np.where((bend > BEND_DEG) | (change > STEP_CHANGE) | (pace > PACE_CHANGE), np.inf, cost)


def _extended(places: Places, after: _Links, before: _Links, chain: Integers, free: NDArray[np.bool_]) -> Integers:
    """The chain (n, 2) with all that goes on at its small end, then at its large one."""
    order = places.dot.shape[1]
    for links, at_end in ((after, True), (before, False)):
        while True:
            kind, turn = chain[-1 if at_end else 0]
            other, on = links.of(int(kind))
            new = np.stack([other, (turn + on) % order], -1)[free[other] & ~np.isin(other, chain[:, 0])]
            known = np.broadcast_to(chain[-2:] if at_end else chain[:2], (len(new), 2, 2))
            parts = (known, new[:, None]) if at_end else (new[:, None], known)
            cost = _cost(places, np.concatenate(parts, axis=1))
            if not np.isfinite(cost).any():
                break
            best = new[cost.argmin()][None]
            chain = np.concatenate([chain, best] if at_end else [best, chain])
    return chain


def _run(places: Places, chain: list[tuple[int, int]]) -> Run:
    kinds = tuple(kind for kind, _ in chain)
    spots = np.array([places.xy_mm[kind, turn] for kind, turn in chain])
    size = places.diameter_mm[list(kinds)]
    gaps = np.hypot(*np.diff(spots, axis=0).T) - (size[1:] + size[:-1]) / 2
    steps = size[1:] / size[:-1]
    # Sizes that fall off as d q^k have one step; what differs from the best such row is uneven.
    k = np.arange(len(size))
    slope, level = np.polyfit(k, np.log(size), 1)
    uneven = float(np.abs(np.expm1(np.log(size) - (level + slope * k))).max())
    return Run(kinds, tuple(map(float, size)), tuple(map(float, gaps)), float(np.median(steps)), uneven, spots)
