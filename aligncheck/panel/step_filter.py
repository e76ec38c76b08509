"""A matched filter for steps: how much higher the light is just outside a place than just inside it."""

from functools import cache
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf

Singles = NDArray[np.float32]
Floats = NDArray[np.float64]


class StepFilter(NamedTuple):
    """Weights (2 h + 1,) whose product with a profile is the least-squares height of a step at its middle.

    Level, slope and a second slope that begins at the step are fitted at the same time, under a Gaussian window, so
    that slow shading and the ramp of a soft shadow count for nothing.
    """

    weights: Floats
    step_px: float

    @classmethod
    @cache
    def design(cls, blur_px: float, window_px: float, step_px: float) -> "StepFilter":
        """For steps blurred by `blur_px` (sd), seen through a window of sd `window_px`, samples `step_px` apart."""
        half = round(2.4 * window_px / step_px)
        o = np.arange(-half, half + 1) * step_px
        root = np.exp(-((o / window_px) ** 2) / 4)
        nuisance, _ = np.linalg.qr(np.stack([np.ones_like(o), o, np.maximum(o, 0)], axis=1) * root[:, None])
        step = normal_cdf(o / blur_px) * root
        step -= nuisance @ (nuisance.T @ step)
        return cls(step * root / (step @ step), step_px)

    @property
    def half(self) -> int:
        """Samples on each side of the middle."""
        return len(self.weights) // 2

    def heights(self, profiles: Singles) -> Singles:
        """Step height at every place of `profiles` (n, k, channels); the ends, where samples lack, are zero."""
        n, k, channels = profiles.shape
        rows = np.ascontiguousarray(profiles.transpose(0, 2, 1)).reshape(n * channels, k)
        out = cv2.filter2D(rows, -1, self.weights[None].astype(np.float32), borderType=cv2.BORDER_REPLICATE)
        out[:, : self.half] = 0
        out[:, k - self.half :] = 0
        return np.asarray(out.reshape(n, channels, k).transpose(0, 2, 1), np.float32)
