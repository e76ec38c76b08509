"""Panels out of square: how their corners stray, the frame's origin being where their diagonals cross."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.panel import nominal_corners

Floats = NDArray[np.float64]

#: The frame's origin is where the true diagonals cross, whatever the shape; how closely the two hang together, mm.
CROSSING_SD_MM = 0.005


def out_of_square(width_mm: float, height_mm: float, sd_mm: float) -> Floats:
    """Covariance (8, 8) of the corners of panels cut with `sd_mm`, their diagonals crossing at the origin."""
    corners = nominal_corners(width_mm, height_mm)
    # The crossing moves across each diagonal by the mean of its two ends' shifts.
    crossing = np.zeros((2, 8))
    for row, (a, b) in enumerate(((0, 2), (1, 3))):
        along = corners[b] - corners[a]
        normal = np.array([-along[1], along[0]]) / np.hypot(*along)
        crossing[row, 2 * a : 2 * a + 2] = crossing[row, 2 * b : 2 * b + 2] = normal / 2
    free = sd_mm**2 * np.eye(8)
    gain = free @ crossing.T @ np.linalg.inv(crossing @ free @ crossing.T + CROSSING_SD_MM**2 * np.eye(2))
    return np.asarray(free - gain @ crossing @ free, float)
