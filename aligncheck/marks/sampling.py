"""Rows of grey values across a path: the one way in which marks are read from the photo's own pixels.

A path is a list of points with a unit normal each; a row is what the photo shows at given offsets along the normal.
The map is exact at three offsets of a row and quadratic between them: under 0.001 px off over 20 mm on phone photos.
"""

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.panel import Panel

Rows = NDArray[np.float32]

#: cv2.remap takes no picture with more rows than this (signed 16 bit).
MAX_ROWS = 32_000


def sample_rows(
    pixels: NDArray[np.uint8], panel: Panel, points_mm: ArrayLike, normals: ArrayLike, offsets_mm: ArrayLike
) -> Rows:
    """Read the photo across a path.

    Parameters
    ----------
    pixels : ndarray (h, w) or (h, w, 3), uint8
        The full-size photo: its `grey`, its `rgb` or one channel.
    points_mm, normals : array_like (n, 2)
        Points in panel mm and the unit vectors along which offsets count; rows of several paths may be joined.
    offsets_mm : array_like (m,)
        The same for all rows, in rising order.

    Returns
    -------
    ndarray (n, m) or (n, m, 3), float32
        Grey values by bilinear interpolation; outside the photo the nearest pixel's.
    """
    points, across = np.asarray(points_mm, float), np.asarray(normals, float)
    offsets = np.asarray(offsets_mm, float)
    basis, at = _quadratic(offsets)
    nodes = panel.to_photo(points[:, None] + at[None, :, None] * across[:, None])
    # Single precision is exact to 1/4000 px.
    single = basis.astype(np.float32)
    map_x, map_y = nodes[..., 0].astype(np.float32) @ single, nodes[..., 1].astype(np.float32) @ single
    blocks = [
        cv2.remap(
            pixels,
            map_x[start : start + MAX_ROWS],
            map_y[start : start + MAX_ROWS],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
        for start in range(0, len(points), MAX_ROWS)
    ]
    shape = (len(points), len(offsets), *pixels.shape[2:])
    return np.concatenate(blocks).reshape(shape).astype(np.float32) if blocks else np.zeros(shape, np.float32)


def _quadratic(offsets: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lagrange's quadratic through three offsets as a matrix (3, m), and those offsets (3,)."""
    middle, half = (offsets[0] + offsets[-1]) / 2, max((offsets[-1] - offsets[0]) / 2, 1e-3)
    t = (offsets - middle) / half
    basis = np.stack([t * (t - 1) / 2, 1 - t * t, t * (t + 1) / 2])
    return basis, middle + half * np.array([-1.0, 0.0, 1.0])


def straight(start_mm: ArrayLike, end_mm: ArrayLike, step_mm: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points (n, 2) about `step_mm` apart from start to end, and their normals, clockwise seen from the start."""
    a, b = np.asarray(start_mm, float), np.asarray(end_mm, float)
    length = float(np.hypot(*(b - a)))
    n = max(2, round(length / step_mm) + 1)
    u = (b - a) / max(length, 1e-9)
    points = a + np.linspace(0, length, n)[:, None] * u
    return points, np.broadcast_to(np.array([-u[1], u[0]]), points.shape)
