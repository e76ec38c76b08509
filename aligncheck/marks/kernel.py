"""The best linear answer to "where does this row's stroke lie", learned from the photo's own strokes.

A stroke of partial coverage is noisy where it is drawn and quiet where it is not, so its edges tell more of its place
than its body. With the mean profile g of the rows and the covariance C of what they depart from it by, the weights
k = C^-1 g' / (g' C^-1 g') give the unbiased linear estimate of a small shift with the least variance (Gauss & Markov;
Aitken, Proc. R. Soc. Edinb. 55 (1936) 42). Measured against centroids: directions a third less uncertain. What the hand
adds to the place itself moves whole rows along g', which leaves k as it is.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Fewer rows than this say too little of their covariance.
LEAST_ROWS = 80
#: Rows per class of amplitude; thinly and fully drawn rows have their noise in different places.
CLASS_ROWS, MOST_CLASSES = 150, 3
#: Part of the mean variance added to every variance: keeps the kernel off patterns that few rows happen to show.
RIDGE = 0.03
#: Logarithmic fall of the scatter with the amplitude, and the number of rows that this prior knowledge is worth.
USUAL_FALL, FALL_ROWS = 1.1, 100.0


class Kernels(NamedTuple):
    """Kernels (K, M) for rows whose amplitude lies up to each of `edges` (K,), and each class's mean amplitude.

    `fall`: the scatter of a row goes as exp(-fall * amplitude).
    """

    kernels: Floats
    edges: Floats
    means: Floats
    fall: float

    def offsets(self, values: Floats, amplitude: Floats) -> Floats:
        """Place (...) of the strokes in rows (..., M) that are scaled to 1 for a well drawn stroke, mm."""
        place = np.clip(np.searchsorted(self.edges, amplitude), 0, len(self.edges) - 1)
        all_kernels = np.nan_to_num(values) @ self.kernels.T
        own = np.take_along_axis(all_kernels, place[..., None], axis=-1)[..., 0]
        return np.asarray(own * self.means[place] / np.maximum(amplitude, 0.1), float)

    def weight(self, amplitude: Floats, full: float = 1.1) -> Floats:
        """Relative precision of rows, 1 at amplitude 1."""
        return np.exp(2 * self.fall * (np.minimum(amplitude, full) - 1))


def learn_kernels(values: Floats, amplitude: Floats, offsets_mm: Floats, width_mm: float) -> Kernels | None:
    """Learn from aligned rows (n, M) that are scaled to 1 for a well drawn stroke; None where they are too few.

    `offsets_mm` (M,) must be symmetric about nought.
    """
    if len(values) < LEAST_ROWS:
        return None
    classes = int(np.clip(len(values) // CLASS_ROWS, 1, MOST_CLASSES))
    bounds = np.array([quantile(amplitude, k / classes) for k in range(1, classes)])
    member = np.searchsorted(bounds, amplitude)
    kernels, means, places = [], [], np.zeros(len(values))
    for c in range(classes):
        rows = values[member == c]
        kernel = _kernel(rows, offsets_mm, width_mm)
        if kernel is None:
            return None
        kernels.append(kernel)
        means.append(float(amplitude[member == c].mean()))
        places[member == c] = rows @ kernel * means[-1] / np.maximum(amplitude[member == c], 0.1)
    fall = _fall(places, amplitude)
    return Kernels(np.array(kernels), np.append(bounds, np.inf), np.array(means), fall)


def _kernel(rows: Floats, offsets_mm: Floats, width_mm: float) -> Floats | None:
    """Antisymmetric kernel (M,) of one class of rows."""
    middle = len(offsets_mm) // 2
    right = np.arange(middle + 1, len(offsets_mm))
    right = right[offsets_mm[right] < 0.5 * width_mm + 1.0]
    left = 2 * middle - right
    mean = rows.mean(0)
    slope = np.gradient(0.5 * (mean + mean[::-1]), offsets_mm)[right]
    uneven = 0.5 * (rows[:, right] - rows[:, left])
    kept = uneven
    half = np.zeros(len(right))
    for _ in range(2):
        covariance = kept.T @ kept / max(len(kept), 1)
        covariance[np.diag_indices(len(right))] += RIDGE * np.trace(covariance) / len(right) + 1e-12
        half = np.linalg.solve(covariance, -slope)
        gain = -float(half @ slope)
        if not gain > 0:
            return None
        half = half / gain
        place = uneven @ half
        # Rows that something else disturbs would shape the covariance.
        kept = uneven[np.abs(place) < 4 * 1.4826 * median(np.abs(place)) + 1e-9]
    kernel = np.zeros(len(offsets_mm))
    kernel[right], kernel[left] = 0.5 * half, -0.5 * half
    return kernel


def _fall(places: Floats, amplitude: Floats) -> float:
    """How fast the logarithm of the scatter falls with the amplitude."""
    log = np.log(np.maximum(np.abs(places), 0.003))
    a = amplitude - amplitude.mean()
    spread = float(a @ a)
    fall = -float(a @ (log - log.mean())) / max(spread, 1e-9)
    # Each row knows the slope to about 1.1 (the scatter of log |normal|) / its own leverage.
    known = spread / 0.05
    return float(np.clip((known * fall + FALL_ROWS * USUAL_FALL) / (known + FALL_ROWS), 0.0, 2.5))
