"""Values of an image between its pixels, at any number of points."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

#: OpenCV takes points as an image of fewer than 32768 rows and columns.
COLUMNS = 1024


def sample(image: NDArray[Any], pixels: ArrayLike) -> NDArray[Any]:
    """Bilinear values (..., channels) of `image` at `pixels` (..., 2); beyond the border, those at the border."""
    p = np.asarray(pixels, np.float32)
    flat = p.reshape(-1, 2)
    rows = -(-len(flat) // COLUMNS)
    padded = np.zeros((rows * COLUMNS, 2), np.float32)
    padded[: len(flat)] = flat
    grid = padded.reshape(rows, COLUMNS, 2)
    seen = cv2.remap(image, grid, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    channels = image.shape[2:]
    return np.asarray(seen).reshape(rows * COLUMNS, *channels)[: len(flat)].reshape((*p.shape[:-1], *channels))
