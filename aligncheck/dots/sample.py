"""What the view shows at places of the panel."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.view import DotView

Floats = NDArray[np.float64]

#: Places are looked up in rows of so many, which OpenCV takes at once.
COLUMNS = 4096


def inside(view: DotView, middle_mm: Floats, radius_mm: Floats) -> Floats:
    """Median colour (..., 3) inside circles, middles (..., 2), in units of the panel's noise."""
    angle = np.arange(8) * (np.pi / 4)
    ring = np.column_stack([np.cos(angle), np.sin(angle)])
    spots = np.concatenate([np.zeros((1, 2)), 0.35 * ring, 0.6 * ring])
    return np.median(seen_at(view, middle_mm[..., None, :] + radius_mm[..., None, None] * spots), axis=-2)


def seen_at(view: DotView, points_mm: Floats) -> Floats:
    """Colours (..., 3) at points (..., 2) of the panel."""
    x, y = view.to_view(points_mm.reshape(-1, 2)).astype(np.float32).T
    pad = -len(x) % COLUMNS
    x, y = (np.pad(v, (0, pad)).reshape(-1, COLUMNS) for v in (x, y))
    seen = cv2.remap(view.unlike, x, y, cv2.INTER_LINEAR).reshape(-1, 3)
    return np.asarray(seen[: seen.shape[0] - pad], float).reshape(*points_mm.shape[:-1], 3)
