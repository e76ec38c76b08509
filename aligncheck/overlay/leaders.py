"""Straight leaders: from an arrow's middle to the nearest point of a plate, and what they meet on the way."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def nearest_points(anchor: ArrayLike, boxes: Floats) -> Floats:
    """The point (n, 2) of each of `boxes` (n, 4) that lies nearest to `anchor` (2,)."""
    return np.minimum(np.maximum(np.asarray(anchor, float), boxes[:, :2]), boxes[:, 2:])


def pass_through(starts: Floats, ends: Floats, boxes: Floats) -> Flags:
    """Which straight pieces pass through which boxes; `starts`, `ends` (..., 2) and `boxes` (..., 4) broadcast.

    The piece is cut by the slab between each pair of parallel sides; what is left of it lies in the box.
    """
    way = ends - starts
    way = np.where(np.abs(way) < 1e-9, 1e-9, way)
    first, second = (boxes[..., :2] - starts) / way, (boxes[..., 2:] - starts) / way
    enter = np.minimum(first, second)
    leave = np.maximum(first, second)
    begin = np.maximum(np.maximum(enter[..., 0], enter[..., 1]), 0.0)
    end = np.minimum(np.minimum(leave[..., 0], leave[..., 1]), 1.0)
    return np.asarray(begin < end)


def crossings(anchor: Floats, ends: Floats, a: Floats, b: Floats) -> Flags:
    """Which of the pieces from `anchor` to `ends` cross which of those from `a` to `b`; all (..., 2) broadcast."""

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return np.asarray(
            (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])
        )

    between = side(anchor, ends, a) * side(anchor, ends, b) < 0
    return np.asarray(between & (side(a, b, anchor) * side(a, b, ends) < 0))


def points_on(anchor: Floats, ends: Floats, number: int) -> Floats:
    """Points (n, number, 2) spread evenly from `anchor` (2,) to each of `ends` (n, 2)."""
    shares = np.linspace(0.0, 1.0, number)[None, :, None]
    return np.asarray(anchor + shares * (ends - anchor)[:, None, :])
