"""Band-limited noise fields."""

import cv2
import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]


def smooth(rng: np.random.Generator, shape: tuple[int, int], scale_px: float) -> Field:
    """Noise with mean 0 and sd 1 whose grains are about `scale_px` wide, shape (height, width)."""
    h, w = shape
    step = max(scale_px, 1.0)
    small = rng.standard_normal((int(h / step) + 3, int(w / step) + 3), dtype=np.float32)
    if step <= 1.0:
        return small[:h, :w]
    wide = cv2.resize(small, (int(small.shape[1] * step), int(small.shape[0] * step)), interpolation=cv2.INTER_CUBIC)
    wide = wide[int(step) : int(step) + h, int(step) : int(step) + w]
    return np.asarray(wide / max(float(wide.std()), 1e-6), np.float32)


def streaks(rng: np.random.Generator, shape: tuple[int, int], along_px: float, across_px: float) -> Field:
    """Like `smooth`, drawn out along x: wood grain, brush marks."""
    h, w = shape
    # Noise that is drawn out is coarse along x and fine across it.
    small = smooth(rng, (h, max(8, int(w * across_px / along_px))), across_px)
    wide = cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC)
    return np.asarray(wide / max(float(wide.std()), 1e-6), np.float32)
