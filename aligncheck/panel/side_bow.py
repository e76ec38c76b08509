"""Sides that bow by themselves: what of a curved side is the panel's own and not the lens's."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.rounded import DEEP_MM

Floats = NDArray[np.float64]

#: How far sides bow, middle against ends, as standard deviations in mm: boards by hundredths; the cloth of a canvas
#: pulls its bars in by a tenth and more. Where the thickness is unknown one panel in five is a canvas. Without allowing
#: for it the lens would be sure to bend as the panel does.
BOW_MM, BOW_BOARD_MM, BOW_CANVAS_MM = 0.07, 0.04, 0.15
#: From the middle to the ends of a side the second Legendre term changes by so much of its factor.
BOW_OF_TERM = 1.5


def bow_of(depth_mm: float | None) -> float:
    """How far the sides of a panel this thick bow, mm, as a standard deviation."""
    if depth_mm is None:
        return BOW_MM
    return BOW_CANVAS_MM if depth_mm >= DEEP_MM else BOW_BOARD_MM


def bow_design(pieces: list[int]) -> Floats:
    """How each side's own bow moves its pieces, evenly spaced along it: second Legendre terms (n, 4)."""
    design = np.zeros((sum(pieces), 4))
    start = 0
    for k, n in enumerate(pieces):
        u = (2 * np.arange(n) + 1) / n - 1
        design[start : start + n, k] = 1.5 * u**2 - 0.5
        start += n
    return design


def bow_precision(corners_px: Floats, width_mm: float, height_mm: float, bow_mm: float) -> Floats:
    """Prior precision (4,) of the terms, 1 / px^2."""
    lengths_px = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1)
    sd_px = bow_mm / BOW_OF_TERM * lengths_px / np.array([width_mm, height_mm, width_mm, height_mm])
    return np.asarray(1 / np.maximum(sd_px, 1e-6) ** 2, float)
