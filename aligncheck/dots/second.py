"""A second look, at circles that edges alone told: domes in the panel's own colour, of which only the highlight or the
lit half was taken for a dot, or nothing at all.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.choice import LEAST_FIGURE, traits
from aligncheck.dots.domes import whole
from aligncheck.dots.measured import Measured
from aligncheck.dots.orbits import gather
from aligncheck.dots.sitting import sit
from aligncheck.dots.slots import Slots, fill
from aligncheck.dots.view import DotView
from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: What is smaller than this in radius may be a highlight itself, mm.
LEAST_RADIUS_MM = 1.4
#: A circle is a known dot's if its middle lies within this share of its radius and the radii are like (natural log).
SAME_PLACE, SAME_SIZE = 0.35, 0.25
#: What lies in a known dot that is not much smaller is its shading.
WITHIN, MUCH_SMALLER = 0.95, 0.8
#: Colours of such domes vary more: lit and shaded halves weigh differently in each circle.
SAME_COLOUR = 0.12
#: A kind is a known one's whole dome if it is so many times as large and holds it in this share of its places.
TIMES, HELD = 1.5, 0.6
#: What a kind must show: this likeness to its portrait in the middle of its places, spread of sizes, places filled.
LIKENESS_OF_DOME, SPREAD, FILLED = 0.5, 0.13, 0.65
#: Where nothing was known more is asked, and nothing as small as grains and petals' tips (mm).
NEW_MM, NEW_SPREAD, NEW_FILLED = 3.0, 0.1, 0.85


def unclaimed(circles: Measured, known: Slots | None) -> Measured:
    """Of the circles those that are neither known dots nor parts of them."""
    circles = circles.take(circles.radius_mm > LEAST_RADIUS_MM)
    if known is None or not known.filled.any() or not len(circles):
        return circles
    dots = known.circles.take(np.flatnonzero(known.filled))
    reach = WITHIN * float(dots.radius_mm.max())
    which, near, apart = Near(dots.xy_mm).pairs(circles.xy_mm, reach)
    radius = dots.radius_mm[near]
    ratio = circles.radius_mm[which] / radius
    nearest = np.full(len(circles), np.inf)
    np.minimum.at(nearest, which, apart)
    # Only the nearest dot may be the circle itself; a glint is no dot that claims the dome around it.
    same = (apart == nearest[which]) & (apart < SAME_PLACE * radius) & (np.abs(np.log(ratio)) < SAME_SIZE)
    within = (apart < WITHIN * radius) & (ratio < 1 / MUCH_SMALLER)
    free = np.ones(len(circles), bool)
    free[which[same | within]] = False
    return circles.take(free)


def with_domes(view: DotView, known: Slots | None, found: Measured, centre_mm: Floats, order: int) -> Slots | None:
    """The known kinds, and those of `found` (circles that are no known dots) that hold or join them.

    A whole dome takes the place of the highlight or lit half that was known.
    """
    orbits = gather(found.xy_mm, found.radius_mm, found.colour, found.quality, order, SAME_COLOUR)
    if not orbits:
        return known
    places = fill(view, orbits, found, centre_mm)
    # What is known tells better where the lamp stands.
    domes = sit(view, *whole(view, places, centre_mm, known), centre_mm)
    t = traits(domes)
    kept: list[int] = []
    hidden: set[int] = set()
    for k in np.argsort(-t.filled * t.likeness, kind="stable"):
        if (
            t.filled[k] < FILLED
            or t.spread[k] > SPREAD
            or t.likeness[k] < LIKENESS_OF_DOME
            or t.figure[k] < LEAST_FIGURE
        ):
            continue
        clash, held = _against(domes, int(k), known)
        fresh = t.diameter_mm[k] > NEW_MM and t.spread[k] < NEW_SPREAD and t.filled[k] > NEW_FILLED
        if clash or not (held or fresh):
            continue
        kept.append(int(k))
        hidden |= held
    if not kept:
        return known
    more = domes.of(np.array(kept))
    if known is None:
        return more
    rest = np.setdiff1d(np.unique(known.orbit), list(hidden))
    return known.of(rest).joined(more)


def _against(domes: Slots, kind: int, known: Slots | None) -> tuple[bool, set[int]]:
    """Whether a kind of domes runs into known dots of its own size, and the known kinds that lie in it."""
    if known is None or not known.filled.any():
        return False, set()
    mine = np.flatnonzero((domes.orbit == kind) & domes.filled)
    xy, radius = domes.circles.xy_mm[mine], domes.circles.radius_mm[mine]
    there = np.flatnonzero(known.filled)
    apart = np.hypot(*np.moveaxis(xy[:, None] - known.circles.xy_mm[there], -1, 0))
    other = known.circles.radius_mm[there]
    inside = (apart < radius[:, None]) & (radius[:, None] > TIMES * other)
    overlap = (apart < 0.8 * np.maximum(radius[:, None], other)) & ~inside
    held = {
        int(k)
        for k in np.unique(known.orbit[there])
        if inside[:, known.orbit[there] == k].any(1).sum() > HELD * len(mine)
    }
    free = ~np.isin(known.orbit[there], list(held))
    return bool(overlap[:, free].any(1).sum() > (1 - HELD) * len(mine)), held
