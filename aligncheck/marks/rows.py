"""From rows of grey values to what each row says: where the stroke lies, and how much chalk there is."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.profile import Profile

Floats = NDArray[np.float64]

#: Rows with less chalk scatter more: measured on chalks and pencils, as exp(-1.95 a) with the amplitude a.
SCATTER_PER_AMPLITUDE = 1.95
#: More chalk than this share of a well drawn stroke says no more about the place.
FULL = 1.1


class RowOffsets(NamedTuple):
    """What S x R rows say; nan where not sampled.

    `offset_mm` is the stroke's place relative to the row's middle, `chalk` its brightness sum in grey codes per mm of
    window, `base` the panel's grey beside it; `unit` is the `chalk` of a stroke that is one code lighter.
    """

    offset_mm: Floats
    chalk: Floats
    base: Floats
    unit: float


def flank_reach(width_mm: float) -> float:
    """How far from the stroke's middle a row is looked at: bare panel for the baseline on both sides."""
    return 1.4 + 0.5 * width_mm


def row_offsets_mm(width_mm: float, px_mm: float) -> Floats:
    """Offsets (M,) of a row, no finer than the photo's pixels (`px_mm` each) deserve."""
    reach = flank_reach(width_mm)
    count = int(np.ceil(reach / np.clip(0.7 * px_mm, 0.05, 0.3)))
    return np.linspace(-reach, reach, 2 * count + 1)


def baseline(offsets_mm: Floats, width_mm: float) -> Floats:
    """Matrix (M, 2): row values @ it = level and slope of the straight line through the outer thirds of a row."""
    reach = flank_reach(width_mm)
    flank = (np.abs(offsets_mm) >= 0.66 * reach - 1e-9).astype(float)
    columns = np.stack([np.ones_like(offsets_mm), offsets_mm], axis=1)
    weighted = columns * flank[:, None]
    return np.asarray(weighted @ np.linalg.inv(weighted.T @ columns), float)


def without_baseline(values: Floats, offsets_mm: Floats, width_mm: float) -> Floats:
    """Rows (..., M) less the straight line through their own flanks."""
    line = baseline(offsets_mm, width_mm)
    return np.asarray(values - (values @ line) @ np.stack([np.ones_like(offsets_mm), offsets_mm]), float)


def centroids(values: Floats, offsets_mm: Floats, profile: Profile, window_mm: float) -> RowOffsets:
    """Place of light strokes in rows (S, R, M), by the centroid under a Gaussian window of `window_mm`.

    The gain that makes the centroid of a part of a stroke's width move as the stroke does is that of the profile.
    """
    width = profile.seen_mm
    line = baseline(offsets_mm, width)
    window = np.exp(-0.5 * (offsets_mm / window_mm) ** 2) * (
        np.abs(offsets_mm) < max(0.75, 1.5 * window_mm) + 0.5 * width
    )
    shape = np.stack([np.ones_like(offsets_mm), offsets_mm])
    kernel = np.stack([window, window * offsets_mm], axis=1)
    kernel = kernel - line @ (shape @ kernel)
    sums = values @ np.concatenate([kernel, line[:, :1]], axis=1)
    shift = 0.05
    moved = profile.height(offsets_mm - shift) @ kernel
    gain = shift * moved[0] / moved[1]
    unit = float(profile.height(offsets_mm) @ kernel[:, 0]) / max(float(window.sum()), 1e-9)
    chalk = sums[..., 0] / max(float(window.sum()), 1e-9)
    with np.errstate(divide="ignore", invalid="ignore"):
        offset = gain * sums[..., 1] / np.where(sums[..., 0] > 0, sums[..., 0], np.nan)
    return RowOffsets(np.clip(offset, -3 * window_mm, 3 * window_mm), chalk, sums[..., 2], unit)


def row_weight(amplitude: Floats) -> Floats:
    """Relative precision of a row with this share of a well drawn stroke's chalk."""
    return np.exp(2 * SCATTER_PER_AMPLITUDE * (np.minimum(amplitude, FULL) - 1))
