"""Undo the EXIF orientation, so that the picture stands as it was seen."""

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]


def _transverse(pixels: Bytes) -> Bytes:
    """Mirror across the diagonal from the top right to the bottom left."""
    return np.asarray(cv2.rotate(cv2.transpose(pixels), cv2.ROTATE_180), np.uint8)


#: What brings a picture stored with each orientation upright (CIPA DC-008, tag 274).
UNDO: dict[int, Callable[[Bytes], Bytes]] = {
    2: lambda p: np.asarray(cv2.flip(p, 1), np.uint8),
    3: lambda p: np.asarray(cv2.rotate(p, cv2.ROTATE_180), np.uint8),
    4: lambda p: np.asarray(cv2.flip(p, 0), np.uint8),
    5: lambda p: np.asarray(cv2.transpose(p), np.uint8),
    6: lambda p: np.asarray(cv2.rotate(p, cv2.ROTATE_90_CLOCKWISE), np.uint8),
    7: _transverse,
    8: lambda p: np.asarray(cv2.rotate(p, cv2.ROTATE_90_COUNTERCLOCKWISE), np.uint8),
}


def upright(pixels: Bytes, orientation: int | None) -> Bytes:
    """`pixels` (h, w, 3) as stored, turned or mirrored upright; the same array where nothing is to be done."""
    return UNDO[orientation](pixels) if orientation in UNDO else pixels
