"""Plane projective maps (homographies) as 3 x 3 arrays."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def apply_homography(matrix: ArrayLike, points: ArrayLike) -> Floats:
    """Map `points` (..., 2) by a 3 x 3 `matrix`; returns the same shape."""
    h = np.asarray(matrix, float)
    p = np.asarray(points, float)
    # Coordinate by coordinate: NumPy is several times slower along a last axis of two.
    q = h[:, :2] @ p.reshape(-1, 2).T + h[:, 2:]
    out = np.empty((q.shape[1], 2))
    np.divide(q[0], q[2], out=out[:, 0])
    np.divide(q[1], q[2], out=out[:, 1])
    return out.reshape(p.shape)


def homography_from_corners(source: ArrayLike, target: ArrayLike) -> Floats:
    """Exact 3 x 3 map that takes four `source` points (4, 2) to four `target` points (4, 2), bottom right 1.

    Raises
    ------
    numpy.linalg.LinAlgError
        If three of the points lie on one line.
    """
    (x, y), (u, v) = np.asarray(source, float).T, np.asarray(target, float).T
    one, zero = np.ones(4), np.zeros(4)
    rows = np.vstack(
        [
            np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y]),
            np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y]),
        ]
    )
    return np.append(np.linalg.solve(rows, np.concatenate([u, v])), 1.0).reshape(3, 3)
