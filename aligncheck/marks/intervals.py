"""How much wider than the linear model says a spoke's interval must be.

The model takes rows to be independent beyond the grain's length, with scatter that follows from their amplitude. The
scores (what each row pulls the line by) tell whether that is so: summed over pieces of the stroke their variance is
compared with the model's, over all strokes of the photo and for each stroke by itself (White, Econometrica 48 (1980)
817, with pieces as clusters). Few degrees of freedom then widen the interval by Student's t.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import GRAIN_MM, Fit

Floats = NDArray[np.float64]

#: Scores are summed over pieces of this length, mm: several times the grain's.
PIECE_MM = 8.0
#: A stroke's own ratio rests on a dozen pieces; only part of its excess is believed.
OWN_PART = 0.6
#: Parameters that a stroke's rows carry: its line and about two of its bows.
PARAMETERS = 4
#: Grain's scatter differs from stroke to stroke: no interval rests on more than this many degrees of freedom.
MOST_FREEDOM = 10.0


def widening(along_mm: Floats, inner_mm: Floats, outer_mm: Floats, fit: Fit) -> Floats:
    """Factor (S,) on the variances of every spoke's figures."""
    step = float(along_mm[1] - along_mm[0])
    middle, half = (inner_mm + outer_mm) / 2, np.maximum((outer_mm - inner_mm) / 2, 1e-6)
    u = (along_mm - middle[:, None]) / half[:, None]
    columns = np.stack([np.ones_like(u), u], axis=2)
    scores = columns * (fit.weights * fit.residual_mm)[..., None]
    group = max(1, round(PIECE_MM / step))
    count = -(-len(along_mm) // group)
    pad = count * group - len(along_mm)
    pieces = np.pad(scores, ((0, 0), (0, pad), (0, 0))).reshape(len(u), count, group, 2).sum(2)
    grain = max(1.0, GRAIN_MM / step)
    expected = (columns**2 * fit.weights[..., None]).sum(1) * (fit.variance * grain)[:, None]
    used = (np.pad(fit.weights, ((0, 0), (0, pad))).reshape(len(u), count, group).sum(2) > 0.2).sum(1)
    # The fit has taken its parameters' part out of the scores.
    freedom = np.maximum(used - 2.0, 1.0) / np.maximum(used, 1.0)
    seen = (pieces**2).sum(1) / freedom[:, None]
    good = (expected.min(1) > 0) & (used > 4)
    own = np.where(good, (seen / np.where(expected > 0, expected, 1.0)).mean(1), 1.0)
    pooled = float((seen[good] / expected[good]).mean()) if good.any() else 1.0
    ratio = np.maximum(np.maximum(pooled, OWN_PART * own), 1.0)
    return ratio * _student(fit, step)


def _student(fit: Fit, step: float) -> Floats:
    """Squared ratio (S,) of Student's 95 % point to the normal one."""
    from scipy.stats import t

    length = (fit.weights > 0.05).sum(1) * step
    freedom = np.clip(length / max(GRAIN_MM, step) - PARAMETERS, 2.0, MOST_FREEDOM)
    return np.asarray((t.ppf(0.975, freedom) / 1.959964) ** 2, float)
