"""Walked runs: dots that diminish along a curve, each set beside the one before it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from aligncheck.dots.arrangement import Run
from aligncheck.dots.places import Places

Floats = NDArray[np.float64]

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
    """What may follow what: for each kind (at the first segment's place) the kinds after it, and by how many turns."""

    after: list[list[tuple[int, int]]]
    before: list[list[tuple[int, int]]]


def runs_of(places: Places) -> tuple[Run, ...]:
    """All runs, the longest first; every kind in one run at most.

    Medians over all segments are searched, so that one odd dot neither breaks a run nor makes one.
    """
    links = _links(places)
    triples = sorted(_triples(places, links))
    free = np.ones(len(places.diameter_mm), bool)
    found = []
    for _, chain in triples:
        if not all(free[kind] for kind, _ in chain):
            continue
        whole = _extended(places, links, list(chain), free)
        kinds = [kind for kind, _ in whole]
        if places.diameter_mm[kinds[-1]] > LEAST_SHRINK * places.diameter_mm[kinds[0]]:
            continue
        free[kinds] = False
        found.append(_run(places, whole))
    return tuple(sorted(found, key=lambda run: (-len(run.kinds), run.places_mm[0] @ run.places_mm[0])))


def _links(places: Places) -> _Links:
    """Pairs of places that stand as one dot and the next."""
    count, order = places.dot.shape
    spots = places.xy_mm.reshape(-1, 2)
    size = places.diameter_mm
    tree = cKDTree(spots)
    after: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    before: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for kind in range(count):
        for near in tree.query_ball_point(places.xy_mm[kind, 0], FARTHEST * size[kind]):
            other, turn = divmod(int(near), order)
            if other != kind and LEAST_STEP < size[other] / size[kind] < MOST_STEP:
                after[kind].append((other, turn))
                before[other].append((kind, (order - turn) % order))
    return _Links(after, before)


def _triples(places: Places, links: _Links) -> list[tuple[float, tuple[tuple[int, int], ...]]]:
    """Three dots that may be part of a run, each a kind and a turn, with how much they bend and change."""
    order = places.dot.shape[1]
    found: list[tuple[float, tuple[tuple[int, int], ...]]] = []
    for middle in range(len(links.after)):
        for first, back in links.before[middle]:
            for last, on in links.after[middle]:
                chain = ((first, back), (middle, 0), (last, on % order))
                cost = _cost(places, *chain)
                if first != last and cost is not None:
                    found.append((cost, chain))
    return found


def _cost(places: Places, *chain: tuple[int, int]) -> float | None:
    """How unevenly three dots follow one another, 0 to 4; None where they make no run."""
    a, b, c = (places.xy_mm[kind, turn] for kind, turn in chain)
    size = [places.diameter_mm[kind] for kind, _ in chain]
    bend = np.degrees(np.arccos(np.clip((b - a) @ (c - b) / np.hypot(*(b - a)) / np.hypot(*(c - b)), -1, 1)))
    change = abs(np.log(size[1] / size[0]) - np.log(size[2] / size[1]))
    near, far = float(np.hypot(*(b - a))), float(np.hypot(*(c - b)))
    # Touching dots come closer as they shrink, dots beside another run keep their pace: both are even.
    pace = abs(np.log(far / near))
    touching = abs(np.log(far / near) - np.log((size[1] + size[2]) / (size[0] + size[1])))
    if bend > BEND_DEG or change > STEP_CHANGE or min(pace, touching) > PACE_CHANGE:
        return None
    # Of several ways on, the nearest dot.
    close = (near + far) / (2 * FARTHEST * size[0])
    return float(bend / BEND_DEG + change / STEP_CHANGE + min(pace, touching) / PACE_CHANGE + close)


def _extended(
    places: Places, links: _Links, chain: list[tuple[int, int]], free: NDArray[np.bool_]
) -> list[tuple[int, int]]:
    """The chain with all that goes on at its small end, then at its large one."""
    order = places.dot.shape[1]
    for end, table in ((-1, links.after), (0, links.before)):
        while True:
            kind, turn = chain[end]
            taken = {k for k, _ in chain}
            tries = []
            for other, on in table[kind]:
                if other in taken or not free[other]:
                    continue
                new = (other, (turn + on) % order)
                cost = _cost(places, *(chain[-2], chain[-1], new) if end else (new, chain[0], chain[1]))
                if cost is not None:
                    tries.append((cost, new))
            if not tries:
                break
            best = min(tries)[1]
            chain = [*chain, best] if end else [best, *chain]
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
