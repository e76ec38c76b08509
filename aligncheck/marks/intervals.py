"""How much wider than the linear model says a spoke's interval must be.

The model takes rows to be independent beyond the grain's length, with scatter that follows from their amplitude. The
scores (what each row pulls the line by) tell whether that is so: summed over pieces of the stroke their variance is
compared with the model's, over all strokes of the photo and for each stroke by itself (White, Econometrica 48 (1980)
817, with pieces as clusters). Few degrees of freedom then widen the interval by Student's t.

Cloth is woven, and wood is cut, along the panel's sides. A stroke along the threads keeps to one side of them for
centimetres: its grain is several times as long, and too slow to show in the scores (the line itself follows it).
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.student import widening as student_widening
from aligncheck.marks.bows import GRAIN_MM, Fit

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Scores are summed over pieces of this length, mm: several times the grain's.
PIECE_MM = 8.0
#: Grain of a stroke along the threads is this many times as long as of others (measured on cloth and wood), fading
#: with the angle between stroke and side: at this many degrees, threads are crossed every 2 to 3 cm.
THREAD_GRAIN, THREAD_DEG = 4.0, 1.5
#: A stroke's own ratio rests on a dozen pieces; only part of its excess is believed.
OWN_PART = 0.6
#: Parameters that a stroke's rows carry: its line and about two of its bows.
PARAMETERS = 4


def widening(along_mm: Floats, angle_deg: Floats, inner_mm: Floats, outer_mm: Floats, fit: Fit) -> Floats:
    """Factor (S,) on the variances of every spoke's figures; `angle_deg` (S,) are the spokes' bearings."""
    step = float(along_mm[1] - along_mm[0])
    middle, half = (inner_mm + outer_mm) / 2, np.maximum((outer_mm - inner_mm) / 2, 1e-6)
    u = (along_mm - middle[:, None]) / half[:, None]
    own, good = _ratios(u, fit, step, PIECE_MM)
    ratio = np.maximum(np.maximum(_pooled(own, good), OWN_PART * own), 1.0)
    off_side = np.abs((angle_deg + 45.0) % 90.0 - 45.0)
    threads = 1 + (THREAD_GRAIN - 1) * np.exp(-((off_side / THREAD_DEG) ** 2))
    return ratio * threads * _student(fit, step)


def _pooled(own: Floats, good: Bools) -> float:
    """Mean ratio of the strokes that tell it, 1 where none does."""
    return float(own[good].mean()) if good.any() else 1.0


def _ratios(u: Floats, fit: Fit, step: float, piece_mm: float) -> tuple[Floats, Bools]:
    """Variance of the scores of each stroke's line over the model's (S,), and whether it has enough pieces."""
    columns = np.stack([np.ones_like(u), u], axis=2)
    group = max(1, round(piece_mm / step))
    pad = -u.shape[1] % group

    def pieces(rows: Floats) -> Floats:
        padded = np.pad(rows, ((0, 0), (0, pad)) + ((0, 0),) * (rows.ndim - 2))
        return np.asarray(padded.reshape(len(u), -1, group, *rows.shape[2:]).sum(2), float)

    scores = pieces(columns * (fit.weights * fit.residual_mm)[..., None])
    grain = max(1.0, GRAIN_MM / step)
    expected = (columns**2 * fit.weights[..., None]).sum(1) * (fit.variance * grain)[:, None]
    used = (pieces(fit.weights) > 0.2).sum(1)
    # The fit has taken its parameters' part out of the scores.
    freedom = np.maximum(used - 2.0, 1.0) / np.maximum(used, 1.0)
    good = (expected.min(1) > 0) & (used > 2)
    seen = (scores**2).sum(1) / freedom[:, None]
    return np.where(good, (seen / np.where(expected > 0, expected, 1.0)).mean(1), 1.0), good


def _student(fit: Fit, step: float) -> Floats:
    """Squared ratio (S,) of Student's 95 % point to the normal one.

    A spread by the median is worth a third of the values it rests on, but half of it is the photo's usual one: by
    Welch and Satterthwaite (Biometrics Bull. 2 (1946) 110) together no less than the stroke's own grains.
    """
    length = (fit.weights > 0.05).sum(1) * step
    freedom = np.maximum(length / max(GRAIN_MM, step) - PARAMETERS, 2.0)
    return np.array([student_widening(f) ** 2 for f in freedom])
