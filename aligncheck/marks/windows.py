"""Where in a row across a stroke its chalk lies: windowed first moments over a straight baseline."""

from functools import lru_cache
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile

Floats = NDArray[np.float64]

STEP_MM = 0.1
#: Scatter of a row about the true line falls with its chalk a (1 = a full row) as exp(-1.95 a), on all chalks.
SCATTER_FALL = 1.95


class Rows(NamedTuple):
    """What was read across a path, one entry per row (n,).

    Offset in mm, chalk (1 for a full row), weight, and second moment in mm^2, which grows with the stroke's width.
    """

    offset_mm: Floats
    amplitude: Floats
    weight: Floats
    square_mm2: Floats


class Windows(NamedTuple):
    """Offsets to sample at, and the weights (m, 3) that turn a row into its moments of order 0, 1, 2."""

    offsets_mm: Floats
    weights: Floats
    gain: float

    @staticmethod
    @lru_cache(maxsize=64)
    def of_width(width_mm: float, wide: float = 1.0) -> "Windows":
        """For strokes `width_mm` wide; `wide` > 1 opens the window for a path that is not yet exact."""
        sd = wide * (0.3 + 0.25 * width_mm)
        inner = wide * (0.75 + 0.5 * width_mm)
        flank = inner + 0.65
        half = round(flank / STEP_MM)
        o = np.arange(-half, half + 1) * STEP_MM
        window = np.exp(-0.5 * (o / sd) ** 2) * (np.abs(o) <= inner)
        base = np.column_stack([np.ones_like(o), o])
        flanks = base * (np.abs(o) > inner)[:, None]
        # The baseline through the flanks, taken off inside the window: one matrix does both.
        lay = np.linalg.solve(flanks.T @ base, flanks.T)
        moments = np.column_stack([window, window * o])
        weights = moments - lay.T @ (base.T @ moments)
        stroke = np.clip((width_mm / 2 - np.abs(o)) / STEP_MM + 0.5, 0, 1)
        moved = np.clip((width_mm / 2 - np.abs(o - STEP_MM)) / STEP_MM + 0.5, 0, 1)
        still, gone = stroke @ weights, moved @ weights
        gain = STEP_MM / float(gone[1] / gone[0] - still[1] / still[0])
        square = window * o**2
        square = square - lay.T @ (base.T @ square)
        return Windows(o.astype(float), np.column_stack([weights, square]) / still[0], gain)

    def measure(
        self,
        values: NDArray[np.float32],
        smooth_rows: int = 1,
        unit: float | None = None,
        free: NDArray[np.bool_] | None = None,
    ) -> Rows:
        """Measure rows (n, m) in which strokes are the larger values, averaged over `smooth_rows` rows.

        `unit` is the step of a full row in grey values; by default the rows' own ninetieth percentile. Rows that are
        not `free` (n,) do not enter their neighbours' averages.
        """
        moments = np.asarray(values @ self.weights, float)
        if smooth_rows > 1:
            share = np.ones(len(moments)) if free is None else free.astype(float)
            joined = _average(np.column_stack([moments * share[:, None], share]), smooth_rows)
            moments = joined[:, :3] / np.maximum(joined[:, 3:], 1e-3)
        full = float(quantile(moments[:, 0], 0.9)) if unit is None else unit
        amplitude = moments[:, 0] / max(full, 1e-6)
        offset = self.gain * moments[:, 1] / np.maximum(moments[:, 0], 0.05 * max(full, 1e-6))
        limit = float(self.offsets_mm[-1])
        weight = np.exp(2 * SCATTER_FALL * (np.minimum(amplitude, 1.1) - 1)) * (amplitude > 0.05)
        width = moments[:, 2] / np.maximum(moments[:, 0], 0.05 * max(full, 1e-6))
        weight = weight * _less_where_wide(width, weight > 0.05)
        return Rows(np.clip(offset, -limit, limit), amplitude, weight, width)


def _less_where_wide(width: Floats, drawn: NDArray[np.bool_]) -> Floats:
    """Less weight for rows wider than the usual one: a wiped stroke that grazes this one pulls it aside."""
    if drawn.sum() < 10:
        return np.ones(len(width))
    usual = median(width[drawn])
    spread = 1.4826 * median(np.abs(width[drawn] - usual)) + 1e-3
    return 1 / (1 + (np.maximum(width - usual, 0) / spread) ** 2)


def _average(columns: Floats, rows: int) -> Floats:
    return np.asarray(cv2.blur(columns, (1, rows), borderType=cv2.BORDER_REPLICATE), float)


def ridge_response(values: NDArray[np.float32], offsets: Floats, width_mm: float) -> Floats:
    """Centre band less the brighter flank, at every offset of every row (n, m): large on a stroke, not at a step."""
    step = float(offsets[1] - offsets[0])
    band = max(1, 2 * round(0.45 * width_mm / step) + 1)
    far = round((0.5 * width_mm + 0.8) / step)
    wide = max(1, round(0.8 / step))
    middle = cv2.blur(values, (band, 1), borderType=cv2.BORDER_REPLICATE)
    side = cv2.blur(values, (wide, 1), borderType=cv2.BORDER_REPLICATE)
    left, right = np.roll(side, far, axis=1), np.roll(side, -far, axis=1)
    left[:, :far], right[:, -far:] = side[:, :1], side[:, -1:]
    both = middle - np.maximum(left, right)
    mean = middle - (left + right) / 2
    return np.asarray(0.5 * both + 0.5 * mean, float)
