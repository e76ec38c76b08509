"""Colours along lines beside the sides of an outline."""

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.panel import Panel, nominal_corners

#: Places along a side, clear of its corners.
SHARES = np.linspace(0.04, 0.96, 120)[:, None]


def colours_beside(pixels: NDArray[np.uint8], panel: Panel, side: int, depths_mm: ArrayLike) -> NDArray[np.float32]:
    """Median codes (depths, 3) along lines `depths_mm` inside side 0 to 3 (top, right, bottom, left), outside where
    negative."""
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    first, along = corners[side], corners[(side + 1) % 4] - corners[side]
    inward = np.array([-along[1], along[0]]) / np.hypot(*along)
    depths = np.asarray(depths_mm, float)[:, None, None]
    at = panel.to_photo(first + SHARES * along + depths * inward).astype(np.float32)
    codes = cv2.remap(pixels, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return medians(codes.astype(np.float32), 1)
