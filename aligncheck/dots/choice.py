"""Which orbits are dots: not chance, not grains of chalk, not the highlights of other dots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from aligncheck.dots.chalk import Chalk
from aligncheck.dots.slots import Slots
from aligncheck.dots.support import OVERLAP

Floats = NDArray[np.float64]

#: Of every orbit: filled share, rim seen, rim more painted inside than outside, contrast in units of noise.
LEAST_FILLED, LEAST_COVERAGE, LEAST_FIGURE, LEAST_CONTRAST = 0.55, 0.74, 0.07, 3.5
#: Dots of one kind differ in size by hand; more than this (natural log, standard deviation) are no kind.
MOST_SPREAD = 0.2
#: Nothing smaller is a dot, mm: tools begin at 1 mm, and what shows of less is a highlight.
LEAST_MM = 0.85
#: From this diameter on size says no more against a grain or a crossing of chalk, mm: lines are about 1 mm wide.
GRAIN_MM = 2.2
#: A kind of chalk's own colour (share of its strength) whose places lie on the very middle of known lines (mm, median)
#: is their crossings or grains: a hand sets dots a few tenths off. Such a kind must show this much more, and somewhat
#: more off the known lines too where rims are rough, for petals may be traced there.
CHALKY, ON_LINE_MM, LINE_DOUBT, CHALK_DOUBT, ROUGH = 0.35, 0.15, 4.0, 1.5, 0.7
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
    c, count = slots.circles, int(slots.orbit.max(initial=-1)) + 1
    off = np.hypot(*(c.xy_mm - slots.place_mm).T)
    values = np.column_stack(
        [2 * c.radius_mm, c.coverage, c.roughness, c.figure, c.contrast, off, c.quality, slots.likeness]
    )
    rows = []
    for k in range(count):
        mine = slots.orbit == k
        here = mine & slots.filled
        size = np.log(c.radius_mm[here]) if here.any() else np.zeros(1)
        spread = 1.48 * np.median(np.abs(size - np.median(size)))
        middle = np.median(values[here], axis=0) if here.any() else np.zeros(values.shape[1])
        rows.append([here.sum() / mine.sum(), *middle[:5], spread, *middle[5:]])
    return Traits(*np.array(rows, float).reshape(-1, 10).T)


def grain_evidence(t: Traits) -> Floats:
    """Log odds (orbits,) that circles are dots and not grains of chalk.

    Grains are rough, small, seldom whole, and fill most but not all places. Weights from a logistic fit over orbits of
    eleven painted panels (55 of small dots, 668 of grains), rounded.
    """
    return np.asarray(
        12 * (0.67 - t.roughness)
        + 8 * (t.filled - 0.95)
        + 4 * (np.minimum(t.diameter_mm, GRAIN_MM) - 1.3)
        + 6 * (t.coverage - 0.95)
        + 4 * (0.35 - t.off_mm),
        float,
    )


def line_doubt(slots: Slots, unlike: Floats, chalk: Chalk) -> Floats:
    """What the known lines say against each orbit (orbits,), as log odds; `unlike`: colours (n, 3) of the circles."""
    distance, far = chalk.distance_mm(slots.circles.xy_mm), chalk.unlike(unlike)
    doubt = np.zeros(int(slots.orbit.max(initial=-1)) + 1)
    for k in range(len(doubt)):
        here = (slots.orbit == k) & slots.filled
        if here.any() and np.median(far[here]) < CHALKY:
            rough = np.median(slots.circles.roughness[here]) > ROUGH
            doubt[k] = LINE_DOUBT if np.median(distance[here]) < ON_LINE_MM else CHALK_DOUBT if rough else 0.0
    return doubt


def choose(slots: Slots, doubt: Floats) -> NDArray[np.bool_]:
    """Which orbits (orbits,) to believe, where `doubt` (orbits,) is what the known lines say against them."""
    t = traits(slots)
    good = (
        (t.filled >= LEAST_FILLED)
        & (t.coverage >= LEAST_COVERAGE)
        & (t.figure >= LEAST_FIGURE)
        & (t.contrast >= LEAST_CONTRAST)
        & (t.spread <= MOST_SPREAD)
        & (grain_evidence(t) > doubt)
    )
    return _uncovered(slots, good, t.quality * t.filled * t.diameter_mm**0.3)


def standing(slots: Slots) -> NDArray[np.bool_]:
    """Which orbits (orbits,) still look like kinds of dots once their places were measured by their portraits.

    On a portrait of grains or highlights each place finds something else: sizes scatter, or they slip onto dots.
    """
    t = traits(slots)
    good = (t.filled >= LEAST_FILLED) & (t.spread <= MOST_SPREAD) & (t.diameter_mm >= LEAST_MM)
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
