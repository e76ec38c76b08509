"""Rings of dots: one distance from the centre, one size, and how even the gaps between neighbours are."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrangement import DotRing
from aligncheck.dots.dots import Dots
from aligncheck.dots.places import Places
from aligncheck.geometry.angles import bearing
from aligncheck.geometry.small import nanmedians

Floats = NDArray[np.float64]

#: Kinds stand on one ring if their distances from the centre differ by less than this, mm, and this share of a dot, and
#: their sizes by less than this (natural log): medians of ten dots set by hand differ by half of it.
SAME_RADIUS_MM, SAME_RADIUS_SHARE, SAME_SIZE = 0.6, 0.25, 0.09


def rings_of(dots: Dots, places: Places) -> tuple[DotRing, ...]:
    """All rings, from the inside out."""
    groups = _groups(places)
    groups.sort(key=lambda kinds: float(np.mean(places.radius_mm[list(kinds)])))
    # One row a dot: middle and diameter.
    table = np.array([[*d.centre_mm, d.diameter_mm] for d in dots.dots], float).reshape(-1, 3)
    return tuple(_ring(k, kinds, table, places) for k, kinds in enumerate(groups, 1))


def _groups(places: Places) -> list[tuple[int, ...]]:
    """Kinds that share a ring; the most alike first, so that a chain of small differences does not join all."""
    radius, size = places.radius_mm, np.log(places.diameter_mm)
    apart = np.abs(radius[:, None] - radius) / np.minimum(
        SAME_RADIUS_MM, SAME_RADIUS_SHARE * places.diameter_mm[:, None]
    )
    unlike = np.maximum(apart, np.abs(size[:, None] - size) / SAME_SIZE)
    home = list(range(len(radius)))
    for i, j in np.argwhere(np.triu(unlike < 1, 1))[np.argsort(unlike[np.triu(unlike < 1, 1)], kind="stable")]:
        one, other = ([k for k, h in enumerate(home) if h == home[end]] for end in (i, j))
        if home[i] != home[j] and unlike[np.ix_(one, other)].max() < 1:
            home = [home[i] if h == home[j] else h for h in home]
    return [tuple(k for k, h in enumerate(home) if h == which) for which in sorted(set(home))]


def _ring(number: int, kinds: tuple[int, ...], table: Floats, places: Places) -> DotRing:
    """Measure one ring."""
    rows = list(kinds)
    which = places.dot[rows].ravel()
    sizes = table[which[which >= 0], 2]
    radius = float(np.mean(places.radius_mm[rows]))
    plain = DotRing(
        number, kinds, radius, float(np.median(sizes)) if len(sizes) else float(places.diameter_mm[rows[0]]),
        int((which >= 0).sum()), len(which),
    )  # fmt: skip
    gaps, off, middle = _gaps(rows, table, places)
    if not len(gaps):
        return plain
    worst = int(np.abs(off).argmax())
    return DotRing(
        *(plain.number, plain.kinds, plain.radius_mm, plain.diameter_mm, plain.count, plain.places),
        gap_mm=float(np.median(gaps)),
        uneven_mm=float(np.std(off)),
        closing_gap_mm=float(gaps[worst]),
        closing_off_mm=float(off[worst]),
        closing_deg=float(middle[worst]),
    )


def _gaps(kinds: list[int], table: Floats, places: Places) -> tuple[Floats, Floats, Floats]:
    """Clear widths between neighbours that are both there, their difference from their like, and their bearings.

    Dots to both sides of spokes stand in pairs, near and far in turn: a gap's like are those between the same kinds.
    """
    spots = places.xy_mm[kinds].transpose(1, 0, 2).reshape(-1, 2)
    dot = places.dot[kinds].T.ravel()
    around = np.argsort(bearing(spots))
    step = len(kinds)
    now, then = dot[around], dot[np.roll(around, -1)]
    both = (now >= 0) & (then >= 0)
    if both.sum() < 2:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    reach = np.hypot(*(table[now, :2] - table[then, :2]).T) - (table[now, 2] + table[then, 2]) / 2
    gap = np.where(both, reach, np.nan)
    like = gap.reshape(-1, step)
    off = (like - nanmedians(np.ascontiguousarray(like.T))).ravel()
    way = spots[around] / np.maximum(np.hypot(*spots[around].T), 1e-9)[:, None]
    middle = bearing(way + np.roll(way, -1, 0))
    return gap[both], off[both], middle[both]
