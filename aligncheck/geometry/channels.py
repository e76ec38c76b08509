"""Sums over three channels: NumPy's own, over so few numbers at a time, take ten times as long as OpenCV's."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Singles = NDArray[np.float32]

ALL_THREE = np.ones((1, 3), np.float32)
#: So many vectors at a time: what is made between then stays within the processor's own memory.
AT_ONCE = 1 << 16


def summed(values: NDArray[Any]) -> Singles:
    """Sums (...) of values (..., 3), in single precision."""
    flat = np.ascontiguousarray(values, np.float32).reshape(-1, 1, 3)
    sums = cv2.transform(flat, ALL_THREE) if len(flat) else flat[..., 0]
    return np.asarray(sums, np.float32).reshape(values.shape[:-1])


def lengths(values: NDArray[Any]) -> Singles:
    """Euclidean lengths (...) of vectors (..., 3), in single precision."""
    if values.size <= 3 * AT_ONCE:
        return np.asarray(np.sqrt(summed(values * values)), np.float32)
    flat, found = values.reshape(-1, 3), np.empty(values.size // 3, np.float32)
    for k in range(0, len(flat), AT_ONCE):
        part = flat[k : k + AT_ONCE]
        np.sqrt(summed(part * part), out=found[k : k + AT_ONCE])
    return found.reshape(values.shape[:-1])
