"""Which orbits are dots: not chance, not grains of chalk, not the highlights of other dots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from aligncheck.dots.slots import Slots
from aligncheck.dots.support import OVERLAP

Floats = NDArray[np.float64]

#: Of every orbit: filled share, rim seen, rim more painted inside than outside, contrast in units of noise.
LEAST_FILLED, LEAST_COVERAGE, LEAST_FIGURE, LEAST_CONTRAST = 0.55, 0.74, 0.07, 3.5
#: Dots of one kind differ in size by hand; more than this (natural log, standard deviation) are no kind.
MOST_SPREAD = 0.2
#: Up to this diameter a grain of chalk may look like a dot, mm: chalk lines are about a millimetre wide.
GRAIN_MM = 2.2
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


def traits(slots: Slots) -> Traits:
    """Medians over each orbit's filled places."""
    c, count = slots.circles, int(slots.orbit.max(initial=-1)) + 1
    off = np.hypot(*(c.xy_mm - slots.place_mm).T)
    values = np.column_stack([2 * c.radius_mm, c.coverage, c.roughness, c.figure, c.contrast, off, c.quality])
    rows = []
    for k in range(count):
        mine = slots.orbit == k
        here = mine & slots.filled
        size = np.log(c.radius_mm[here]) if here.any() else np.zeros(1)
        spread = 1.48 * np.median(np.abs(size - np.median(size)))
        middle = np.median(values[here], axis=0) if here.any() else np.zeros(values.shape[1])
        rows.append([here.sum() / mine.sum(), *middle[:5], spread, *middle[5:]])
    return Traits(*np.array(rows, float).reshape(-1, 9).T)


def grain_evidence(t: Traits) -> Floats:
    """Log odds (orbits,) that small circles are dots and not grains of chalk.

    Grains are rough, small, seldom whole, and fill most but not all places. Weights from a logistic fit over orbits of
    eleven painted panels (55 of dots, 668 of grains), rounded.
    """
    return np.asarray(
        12 * (0.67 - t.roughness)
        + 8 * (t.filled - 0.95)
        + 4 * (t.diameter_mm - 1.3)
        + 6 * (t.coverage - 0.95)
        + 4 * (0.35 - t.off_mm),
        float,
    )


def choose(slots: Slots) -> NDArray[np.bool_]:
    """Which orbits (orbits,) to believe."""
    t = traits(slots)
    small = t.diameter_mm < GRAIN_MM
    good = (
        (t.filled >= LEAST_FILLED)
        & (t.coverage >= LEAST_COVERAGE)
        & (t.figure >= LEAST_FIGURE)
        & (t.contrast >= LEAST_CONTRAST)
        & (t.spread <= MOST_SPREAD)
        & (~small | (grain_evidence(t) > 0))
    )
    return _uncovered(slots, good, t.quality * t.filled * t.diameter_mm**0.3)


def _uncovered(slots: Slots, good: NDArray[np.bool_], worth: Floats) -> NDArray[np.bool_]:
    """Of orbits whose circles lie on each other only the best."""
    kept = np.zeros(len(good), bool)
    xy, r = slots.circles.xy_mm, slots.circles.radius_mm
    tree = cKDTree(xy)
    stands = np.zeros(len(r), bool)
    for k in np.argsort(-worth, kind="stable"):
        if not good[k]:
            continue
        mine = np.flatnonzero((slots.orbit == k) & slots.filled)
        hidden = 0
        for i, near in zip(mine, tree.query_ball_point(xy[mine], OVERLAP * (r[mine] + r.max())), strict=True):
            j = np.asarray(near)
            j = j[stands[j]]
            hidden += bool((np.hypot(*(xy[j] - xy[i]).T) < OVERLAP * (r[j] + r[i])).any())
        if hidden < HIDDEN * len(mine):
            kept[k] = True
            stands[mine] = True
    return kept
