"""Angles in degrees, clockwise from 12 o'clock: x = r sin a, y = -r cos a, with y pointing down."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def pairs(x: Floats, y: Floats) -> Floats:
    """Vectors (..., 2) of their coordinates (...); numpy.stack takes several times as long for few."""
    out = np.empty((*np.shape(x), 2))
    out[..., 0], out[..., 1] = x, y
    return out


def outward(angle_deg: ArrayLike) -> Floats:
    """Unit vectors (..., 2) that point outward along `angle_deg`."""
    a = np.radians(np.asarray(angle_deg, float))
    return pairs(np.sin(a), -np.cos(a))


def clockwise(angle_deg: ArrayLike) -> Floats:
    """Unit vectors (..., 2) across `angle_deg`, pointing the way the clock's hand turns."""
    a = np.radians(np.asarray(angle_deg, float))
    return pairs(np.cos(a), np.sin(a))


def bearing(vector: ArrayLike) -> Floats:
    """Direction of (..., 2) vectors in degrees, 0 to 360."""
    v = np.asarray(vector, float)
    return np.degrees(np.arctan2(v[..., 0], -v[..., 1])) % 360.0


def wrap(angle_deg: ArrayLike) -> Floats:
    """Reduce angles to -180 (included) .. 180."""
    return (np.asarray(angle_deg, float) + 180.0) % 360.0 - 180.0
