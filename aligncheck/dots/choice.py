"""Which orbits are dots: not chance, not grains of chalk, not the highlights of other dots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.slots import Slots
from aligncheck.dots.support import overlapping
from aligncheck.dots.view import FINER

Floats = NDArray[np.float64]

#: Of every orbit: filled share, rim seen, rim more painted inside than outside, contrast in units of noise.
LEAST_FILLED, LEAST_COVERAGE, LEAST_FIGURE, LEAST_CONTRAST = 0.55, 0.74, 0.07, 3.5
#: Dots of one kind differ in size by hand; more than this (natural log, standard deviation) are no kind.
MOST_SPREAD = 0.2
#: Nothing smaller is a dot, mm: tools begin at 1 mm, and what shows of less is a highlight.
LEAST_MM = 0.85
#: Nor is anything smaller than so many pixels of the photo: lens and sensor blur each rim over two, so that a disc has
#: no inside, and a blot or a crossing of lines looks the same. Views are at most so much finer than the photo.
LEAST_PX = 4.0 * FINER
#: A kind has a mate if one that is believed lies on the same ring (mm), as large (natural log) and of the same colour
#: (share of its distance from the panel's): what a hand sets on both sides of a spoke. Of the kinds in doubt by odds
#: down to -3 on eleven painted panels 2 of 4 true ones had a mate and 2 of 44 grains: few, hence less than they say.
MATE_RING_MM, MATE_SIZE, MATE_COLOUR, MATE_EVIDENCE = 0.8, 0.2, 0.3, 2.0
#: An orbit of which this share lies on better ones is their highlight, or a gap.
HIDDEN = 0.4


@dataclass(frozen=True)
class Traits:
    """What each orbit's circles have in common, arrays (orbits,)."""

    filled: Floats
    diameter_mm: Floats
    coverage: Floats
    roughness: Floats
    figure: Floats
    contrast: Floats
    spread: Floats
    off_mm: Floats
    quality: Floats
    likeness: Floats


def traits(slots: Slots) -> Traits:
    """Medians over each orbit's filled places."""
    c, filled = slots.circles, slots.filled
    off = np.hypot(*(c.xy_mm - slots.place_mm).T)
    size = np.log(c.radius_mm)
    spread = 1.48 * middles(slots, np.abs(size - middles(slots, size)[slots.orbit]))
    count = np.bincount(slots.orbit[filled], minlength=len(spread))
    share = count / np.maximum(np.bincount(slots.orbit, minlength=len(spread)), 1)
    return Traits(
        filled=share,
        diameter_mm=middles(slots, 2 * c.radius_mm),
        coverage=middles(slots, c.coverage),
        roughness=middles(slots, c.roughness),
        figure=middles(slots, c.figure),
        contrast=middles(slots, c.contrast),
        spread=np.asarray(spread, float),
        off_mm=middles(slots, off),
        quality=middles(slots, c.quality),
        likeness=middles(slots, slots.likeness),
    )


def middles(slots: Slots, values: Floats) -> Floats:
    """Medians (orbits,) of `values` (n,) over each orbit's filled places, 0 where none is."""
    orbit, value = slots.orbit[slots.filled], values[slots.filled]
    count = np.bincount(orbit, minlength=int(slots.orbit.max(initial=-1)) + 1)
    ordered = value[np.lexsort((value, orbit))]
    first = np.cumsum(count) - count
    if not len(ordered):
        return np.zeros(len(count))
    low, high = (np.clip(first + (count + k) // 2 - 1, 0, len(ordered) - 1) for k in (1, 2))
    return np.where(count > 0, (ordered[low] + ordered[high]) / 2, 0.0)


def choose(slots: Slots, odds: Floats) -> NDArray[np.bool_]:
    """Which orbits (orbits,) to believe, by the log odds (orbits,) that they are dots and not chalk (`evidence`)."""
    t = traits(slots)
    whole = (
        (t.filled >= LEAST_FILLED)
        & (t.coverage >= LEAST_COVERAGE)
        & (t.figure >= LEAST_FIGURE)
        & (t.contrast >= LEAST_CONTRAST)
        & (t.spread <= MOST_SPREAD)
    )
    good = whole & (odds + MATE_EVIDENCE * _with_mate(slots, t, whole & (odds > 0)) > 0)
    return _uncovered(slots, good, t.quality * t.filled * t.diameter_mm**0.3)


def _with_mate(slots: Slots, t: Traits, believed: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which orbits (orbits,) have a mate among those `believed`."""
    colour = np.stack([middles(slots, channel) for channel in slots.circles.colour.T], -1)
    ring = middles(slots, np.hypot(*slots.place_mm.T))
    size = np.log(np.maximum(t.diameter_mm, LEAST_MM))
    mates = np.flatnonzero(believed)
    alike = (
        (np.abs(ring[:, None] - ring[mates]) < MATE_RING_MM)
        & (np.abs(size[:, None] - size[mates]) < MATE_SIZE)
        & (
            np.linalg.norm(colour[:, None] - colour[mates], axis=-1)
            < MATE_COLOUR * np.linalg.norm(colour, axis=-1)[:, None]
        )
        & (np.arange(len(ring))[:, None] != mates)
    )
    return np.asarray(alike.any(1), bool)


def standing(slots: Slots) -> NDArray[np.bool_]:
    """Which orbits (orbits,) still look like kinds of dots once their places were measured by their portraits.

    On a portrait of grains or highlights each place finds something else: sizes scatter, or they slip onto dots.
    """
    t = traits(slots)
    seen = middles(slots, 2 * slots.circles.rims.r) >= LEAST_PX
    good = (t.filled >= LEAST_FILLED) & (t.spread <= MOST_SPREAD) & (t.diameter_mm >= LEAST_MM) & seen
    return _uncovered(slots, good, t.quality * t.filled * t.diameter_mm**0.3)


def _uncovered(slots: Slots, good: NDArray[np.bool_], worth: Floats) -> NDArray[np.bool_]:
    """Of orbits whose circles lie on each other only the best."""
    kept = np.zeros(len(good), bool)
    here = np.flatnonzero(good[slots.orbit] & slots.filled)
    one, other = (here[side] for side in overlapping(slots.circles.xy_mm[here], slots.circles.radius_mm[here]))
    both = np.concatenate([one, other]), np.concatenate([other, one])
    by_orbit = np.argsort(slots.orbit[both[0]], kind="stable")
    mine, on = both[0][by_orbit], both[1][by_orbit]
    first = np.searchsorted(slots.orbit[mine], np.arange(len(good) + 1))
    count = np.bincount(slots.orbit[here], minlength=len(good))
    for k in np.argsort(-worth, kind="stable"):
        if not good[k]:
            continue
        pairs = slice(first[k], first[k + 1])
        hidden = len(np.unique(mine[pairs][kept[slots.orbit[on[pairs]]]]))
        kept[k] = hidden < HIDDEN * count[k]
    return kept
