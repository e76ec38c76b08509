"""Strips of pixels along the sides of the panel, in linear light, straightened by the lens's bend."""

import math
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.srgb import linear
from aligncheck.lens import Lens

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Lines of a strip that are read from one crop of the photo: few enough that a tilted side's crop stays small.
LINES_PER_CROP = 64


def _linear_table() -> NDArray[np.uint16]:
    """sRGB code to linear light, 0 to 65535 (IEC 61966-2-1)."""
    c = np.arange(256) / 255.0
    return np.round(linear(c) * 65535).astype(np.uint16)


LINEAR = _linear_table()


class Side(NamedTuple):
    """One side as the lens shows it, with places along it and the direction across it.

    Attributes
    ----------
    points_px : ndarray (n, 2)
        Places along the side in photo pixels, from its first corner to its second (clockwise around the panel).
    outward : ndarray (n, 2)
        Unit vectors across the side, away from the panel.
    """

    points_px: Floats
    outward: Floats

    def at(self, offsets_px: Floats) -> tuple[Floats, Floats]:
        """Photo x and y (n, k) of `offsets_px` (k,) or (n, k) outward from each place: one is faster than (n, k, 2)."""
        x, y = (
            start[:, None] + across[:, None] * offsets_px
            for start, across in zip(self.points_px.T, self.outward.T, strict=True)
        )
        return x, y


def side_between(first_px: Floats, second_px: Floats, lens: Lens, shares: Floats) -> Side:
    """The straight side between two corners (photo pixels), at `shares` 0..1 of its length."""
    a, b = lens.unbend(np.stack([first_px, second_px]))
    along = a + shares[:, None] * (b - a)
    points = lens.bend(along)
    step = lens.bend(along + 1e-3 * (b - a)) - points
    tangent = step / np.linalg.norm(step, axis=1, keepdims=True)
    # Corners run clockwise with y down, so the panel lies to the right of the way we go.
    return Side(points, np.column_stack([tangent[:, 1], -tangent[:, 0]]))


def read_strip(rgb: NDArray[np.uint8], side: Side, offsets_px: Floats) -> Singles:
    """Linear light (n, k, 3), 0 to 1, at `offsets_px` (k,) or (n, k) outward from the side; outside the photo NaN."""
    x, y = (places.astype(np.float32) for places in side.at(offsets_px))
    out = np.empty((*x.shape, 3), np.float32)
    for start in range(0, len(x), LINES_PER_CROP):
        part = slice(start, start + LINES_PER_CROP)
        out[part] = _read_crop(rgb, x[part], y[part])
    return out


def _read_crop(rgb: NDArray[np.uint8], x: Singles, y: Singles) -> Singles:
    """Read places (n, k) from a crop that is turned to linear light before anything is interpolated."""
    height, width = rgb.shape[:2]
    least_x, most_x, least_y, most_y = float(x.min()), float(x.max()), float(y.min()), float(y.max())
    # A fit may have run away beyond all bounds.
    if not math.isfinite(least_x + most_x + least_y + most_y):
        return np.full((*x.shape, 3), np.nan, np.float32)
    left, right = max(math.floor(least_x) - 1, 0), min(math.ceil(most_x) + 2, width)
    top, bottom = max(math.floor(least_y) - 1, 0), min(math.ceil(most_y) + 2, height)
    if right - left < 2 or bottom - top < 2:
        return np.full((*x.shape, 3), np.nan, np.float32)
    crop = cv2.LUT(rgb[top:bottom, left:right], LINEAR)
    across, down = x - np.float32(left), y - np.float32(top)
    values = cv2.remap(crop, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    light = np.asarray(values, np.float32) * np.float32(1 / 65535)
    if least_x < 0 or least_y < 0 or most_x > width - 1 or most_y > height - 1:
        light[(x < 0) | (y < 0) | (x > width - 1) | (y > height - 1)] = np.nan
    return light
