"""Colours as the eye ranks them: the cube root of linear light, channel by channel."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.srgb import coded, linear

Singles = NDArray[np.float32]


@cache
def _table() -> Singles:
    """Cube root of linear light for every sRGB code (IEC 61966-2-1)."""
    code = np.arange(256) / 255
    return np.cbrt(linear(code)).astype(np.float32)


def cube_root_colours(rgb: NDArray[np.uint8]) -> Singles:
    """SRGB codes (..., 3) to cube-root colours (..., 3), 0 to 1.

    Differences are then about as visible in shade as in light, and a shadow is very nearly a factor.
    """
    import cv2

    # As a picture, whatever its shape: OpenCV looks up five times as fast as an index.
    return np.asarray(cv2.LUT(rgb.reshape(-1, 1), _table()), np.float32).reshape(rgb.shape)


def lab_of(cube_roots: Singles) -> Singles:
    """CIELAB (h, w, 3) of cube-root colours (h, w, 3)."""
    import cv2

    codes = coded(np.clip(cube_roots, 0, 1.2).astype(np.float32) ** 3)
    return np.asarray(cv2.cvtColor(codes.astype(np.float32), cv2.COLOR_RGB2Lab), np.float32)
