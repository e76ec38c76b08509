"""How much each circle is borne out by its like in the other segments, and which of two that overlap to believe."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.carried import carried
from aligncheck.dots.rims import Rims
from aligncheck.geometry.near import Near, best_first

Floats = NDArray[np.float64]

#: A hand sets a dot this far off its place, mm (standard deviation), and differs in size by so much (natural log).
OFF_PLACE_MM, OFF_SIZE = 0.6, 0.10
#: Farther than this many of them is not its like.
GATE = 3.6
#: Two dots may overlap by this share of their radii: domes that were set wet, and what both are wrong by.
OVERLAP = 0.82


def kind_of(radius_mm: Floats, colour: Floats, same_colour: float) -> Floats:
    """Size and colour of circles (n, 4), in mm of a place: as far apart as like circles lie off their places.

    Parameters
    ----------
    colour : ndarray (n, 3)
    same_colour : float
        Distance of colours of one paint (standard deviation).
    """
    return np.column_stack([OFF_PLACE_MM / OFF_SIZE * np.log(radius_mm), colour * (OFF_PLACE_MM / same_colour)])


def support(xy: Floats, radius_mm: Floats, colour: Floats, coverage: Floats, order: int, same_colour: float) -> Floats:
    """Mean over the other segments (n,) of the best like circle there.

    Parameters
    ----------
    xy : ndarray (n, 2)
        From the centre, mm.
    colour, same_colour
        As for `kind_of`.
    """
    if order < 2 or len(xy) < 2:
        return np.zeros(len(xy))
    gate = GATE * OFF_PLACE_MM
    kind = kind_of(radius_mm, colour, same_colour)
    best = np.zeros(len(xy) * order)
    for pairs in carried(xy, kind, order, gate):
        pairs = pairs.take(pairs.turn > 0)
        value = np.exp(-0.15 * (pairs.unlike_mm / OFF_PLACE_MM) ** 2) * coverage[pairs.other]
        np.maximum.at(best, pairs.one * order + pairs.turn, value)
    return np.asarray(best.reshape(-1, order).sum(1) / (order - 1), float)


def believed(rims: Rims, score: Floats) -> NDArray[np.int64]:
    """Indices of the circles that stand, the best first: each removes those that it overlaps."""
    one, other = overlapping(np.column_stack([rims.x, rims.y]), rims.r)
    kept = best_first(score, one, other)
    order = np.argsort(-score, kind="stable")
    return np.asarray(order[kept[order]], np.int64)


def overlapping(xy: Floats, radius: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs (m,) of circles (n,) that overlap, each pair once, the smaller circle first.

    Small circles are many and large ones few: each is asked only for circles up to twice its own size.
    """
    found: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
    if len(radius):
        rank = np.empty(len(radius), np.int64)
        rank[np.argsort(radius, kind="stable")] = np.arange(len(radius))
        octave = np.floor(np.log2(np.maximum(radius, 1e-9))).astype(np.int64)
        for large in np.unique(octave):
            mine, smaller = np.flatnonzero(octave == large), np.flatnonzero(octave <= large)
            reach = OVERLAP * (radius[mine].max() + radius[smaller])
            i, j, apart = Near(xy[mine]).pairs(xy[smaller], reach)
            one, other = smaller[i], mine[j]
            both = (rank[one] < rank[other]) & (apart < OVERLAP * (radius[one] + radius[other]))
            found.append((one[both], other[both]))
    none = (np.zeros(0, np.int64), np.zeros(0, np.int64))
    one, other = (np.concatenate(side) for side in zip(none, *found, strict=True))
    return one, other
