"""Means of directions, which wrap around at 360 degrees."""

import numpy as np
from numpy.typing import ArrayLike


def mean_direction(angle_deg: ArrayLike, weights: ArrayLike | None = None) -> tuple[float, float]:
    """Mean direction in degrees (0 to 360) and resultant length R (0: no direction at all, 1: all the same).

    Mardia & Jupp, Directional Statistics (2000), section 2.2. Without any direction (R under 1e-12) the mean is NaN.
    """
    a = np.radians(np.asarray(angle_deg, float))
    w = np.ones_like(a) if weights is None else np.asarray(weights, float)
    c, s = float((w * np.cos(a)).sum() / w.sum()), float((w * np.sin(a)).sum() / w.sum())
    length = float(np.hypot(c, s))
    return (float(np.degrees(np.arctan2(s, c)) % 360) if length > 1e-12 else float("nan")), length
