"""Cross products and medians of small arrays: NumPy's own check and shuffle axes for longer than they calculate."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def cross(a: Floats, b: Floats) -> Floats:
    """Cross products of vectors (..., 3) along the last axis, each rounded as numpy.cross does."""
    x, y, z = (a[..., k] for k in range(3))
    u, v, w = (b[..., k] for k in range(3))
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def median(values: NDArray[np.floating]) -> float:
    """The median of values (n,), n at least 1, none of them NaN."""
    ordered = np.sort(values)
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return float(ordered[middle])
    return float((ordered[middle - 1] + ordered[middle]) / 2)
