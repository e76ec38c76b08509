"""Tips that lie under a spoke: how far the chalk along the spoke is broader than the spoke alone.

Two sides that run together under a spoke leave no ridges of their own there, yet as long as they go on there is more
chalk across the spoke than farther out, where it runs alone. That surplus falls off as they close, and ends at the tip.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls
from scipy.special import ndtr

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.drawn import drawn
from aligncheck.rows.fit import COMMON_SD_MM, RowFit, sides

Floats = NDArray[np.float64]

#: Along the spoke about the fitted tip, mm, in such steps; beyond so many mm the spoke runs alone, whatever the fit.
ALONG_MM, STEP_MM, ALONE_MM = (-8.0, 14.0), 0.25, 7.0
#: Chalk across: so far beside the spoke's own edges, mm; and where the bare panel is taken.
BESIDE_MM, BARE_MM = 1.5, (1.9, 3.0)
ACROSS_STEP_MM = 0.1
#: The surplus' fall is fitted from the last place that shows this share of the full one.
FALL_SHARE = 0.8
#: A full surplus is two sides: at least and at most so many times the spoke's own chalk, else other things lie there.
LEAST_SURPLUS, MOST_SURPLUS = 0.3, 4.0
#: Tips tried beyond the fitted one, mm.
TIPS_MM = np.arange(-4.0, 6.01, 0.1)
#: Chalk thins out before it ends, and lines within one another hide each other: the surplus ends before the tip, by so
#: much on the whole, mm, about what a line is wide; how much it is in a row nobody knows.
BEFORE_MM = 1.0
#: What the blur of a photo and hands join along the spoke, mm: so many steps say one thing.
JOINED_MM = 1.0
#: A stroke's round end and a photo's blur smear the fall, mm; so do the petals' own tips, as far as hands stray.
SMEAR_MM, HAND_SD_MM = 0.5, 0.7
#: A spoke may run so far beside the fitted tip, mm: a hand's aim, twice over.
OFF_MM = 2.8


class Under(NamedTuple):
    """How far the tips lie beyond the fitted ones, mm, and its standard deviation."""

    shift_mm: float
    sd_mm: float


def under_spokes(chalk: ChalkMap, fit: RowFit, others: Sequence[RowFit], sides_sd_mm: float) -> Under | None:
    """Where a row's tips lie along the spokes that hide them; None where the chalk there tells nothing.

    What `others` explain is left out. The sides by themselves point to the fitted tips, to `sides_sd_mm`.
    """
    signal = chalk.signal.copy()
    signal[drawn(chalk, others)] = np.nan
    chalk = chalk._replace(signal=signal)
    along = np.arange(*ALONG_MM, STEP_MM)
    rows = [surplus for k in range(len(fit.numbers)) if (surplus := _surplus(chalk, fit, k, along)) is not None]
    if not rows:
        return None
    known = np.isfinite(rows).sum(0) > len(rows) / 2
    total = np.where(known, np.nanmedian(np.where(known, rows, 0.0), axis=0), np.nan)
    alone = total[along > ALONE_MM]
    if np.isfinite(alone).sum() < len(alone) / 2 or np.nanmedian(alone) <= 0:
        return None
    own = float(np.nanmedian(alone))
    noise = 1.48 * float(np.nanmedian(np.abs(alone / own - 1)))
    return _end(along, total / own - 1, max(noise, 0.02), fit, sides_sd_mm)


def common_sd_mm(fit: RowFit, spoke_mm: float) -> float:
    """How well the sides alone tell a row's tips in common, standard deviation; spokes are `spoke_mm` wide.

    On a spoke both sides of a petal end in the spoke's own chalk: where within it they meet nothing shows, and of what
    lies anywhere in a stretch the standard deviation is its length over the root of 12.
    """
    if fit.shape.between:
        return COMMON_SD_MM
    numbers = np.median(fit.numbers, axis=0)
    points, _ = sides(fit.shape, numbers[None], np.linspace(0.001, 1, 400))
    across, along = np.abs(points[0] - numbers[0:2]).mean(0).T
    hidden = along[np.argmax(across > spoke_mm / 2)]
    return float(np.hypot(COMMON_SD_MM, hidden / np.sqrt(12)))


def _surplus(chalk: ChalkMap, fit: RowFit, k: int, along: Floats) -> Floats | None:
    """Chalk across the spoke under petal `k`, places `along` it about the tip; NaN where rings cross."""
    tip = fit.frame.to_panel(fit.numbers[:, None, 0:2])[k, 0]
    outward = fit.frame.outward[k]
    best = None
    for inner, outer, width in chalk.spokes:
        way = (outer - inner) / np.hypot(*(outer - inner))
        across = np.array([-way[1], way[0]])
        off = abs(float((tip - inner) @ across))
        if way @ outward > 0.9 and off < OFF_MM and (best is None or off < best[0]):
            best = off, inner + way * float((tip - inner) @ way), way, across, width
    if best is None:
        return None
    _, middle, way, across, width = best
    beside = np.arange(-(width / 2 + BARE_MM[1]), width / 2 + BARE_MM[1], ACROSS_STEP_MM)
    places = middle + along[:, None, None] * way + beside[:, None] * across
    signal = chalk.signal_at(places)
    bare = np.abs(beside) > width / 2 + BARE_MM[0]
    level = np.median(signal[:, bare], axis=1)
    return np.asarray((signal - level[:, None])[:, np.abs(beside) < width / 2 + BESIDE_MM].sum(1), float)


def _end(along: Floats, surplus: Floats, noise: float, fit: RowFit, sides_sd_mm: float) -> Under | None:
    """The tip beyond where a falling surplus ends: a straight fall and a step, both smeared, by least squares.

    Sides that close leave less and less beside the spoke; their chalk on the spoke's own ends at once. What the sides
    say by themselves counts as well. Of all places the mean by their likelihood, which no small thing makes jump.
    """
    smear = float(np.hypot(SMEAR_MM, min(np.sqrt(np.median(fit.covariance[:, 1, 1])), HAND_SD_MM)))
    before = surplus[(along < TIPS_MM[-1] - 4) & np.isfinite(surplus)]
    full = float(np.percentile(before, 80)) if len(before) else 0.0
    if not LEAST_SURPLUS < full < MOST_SURPLUS:
        return None
    high = np.flatnonzero((surplus > FALL_SHARE * full) & (along < TIPS_MM[-1]))
    use = np.isfinite(surplus) & (np.arange(len(along)) >= high[-1])
    x, y = along[use], surplus[use]
    misfits = []
    for tip in TIPS_MM:
        z = (tip - x) / smear
        fall = smear * (z * ndtr(z) + np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi))
        _, rest = nnls(np.column_stack([fall, ndtr(z)]), y)
        misfits.append(rest**2 * STEP_MM / JOINED_MM)
    misfit = np.array(misfits)
    ends_there = np.exp(-0.5 * (misfit - misfit.min()) / noise**2)
    weight = np.convolve(ends_there, np.exp(-(TIPS_MM - TIPS_MM[0]) / BEFORE_MM))[: len(TIPS_MM)]
    weight *= np.exp(-0.5 * (TIPS_MM / sides_sd_mm) ** 2)
    weight /= weight.sum()
    tip = float(weight @ TIPS_MM)
    return Under(tip, float(np.sqrt(weight @ (TIPS_MM - tip) ** 2)))
