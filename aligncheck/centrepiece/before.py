"""The bare marked panel as an earlier photo shows it: on lines, where colours say little, it says what was there."""

import cv2
import numpy as np

from aligncheck.centrepiece.colours import Singles
from aligncheck.centrepiece.window import Window

#: The two photos' maps and lenses agree to about this, mm.
SLACK_MM = 0.35
#: Shades that a shadow of the piece may have.
SHADES = (1.0, 0.87, 0.75, 0.62, 0.5)
#: What the comparison is worth beside what colours say, and the least change that counts, times `unlike`.
WEIGHT, CHANGED = 0.7, 1.0


def change(window: Window, before: Window, unlike: float) -> Singles:
    """Evidence (h, w), from -`WEIGHT`, surely changed, to `WEIGHT`, as before or in shadow.

    Parameters
    ----------
    window, before : Window
        The same rectangle of the panel, each with its own bare panel.
    unlike : float
        Difference of cube-root colours that counts.
    """
    mean = window.bare.reshape(-1, 3).mean(0)
    now = cv2.GaussianBlur(window.colours * (mean / window.bare), (0, 0), 0.7)
    then = cv2.GaussianBlur(before.colours * (mean / before.bare), (0, 0), 0.7)
    size = 2 * round(SLACK_MM * window.px_per_mm) + 1
    kernel = np.ones((size, size), np.uint8)
    low, high = cv2.erode(then, kernel), cv2.dilate(then, kernel)
    least = np.full(window.shape, np.inf, np.float32)
    for shade in SHADES:
        away = np.maximum(now - np.float32(shade) * high, 0) + np.maximum(np.float32(shade) * low - now, 0)
        np.minimum(least, np.einsum("hwc,hwc->hw", away, away), out=least)
    changed = np.sqrt(least) / (CHANGED * unlike)
    return np.asarray(WEIGHT * np.clip(1 - changed, -1, 1), np.float32)
