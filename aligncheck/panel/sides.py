"""From rough corners to the panel's sides at full resolution."""

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.lens import Lens
from aligncheck.panel.side_fit import SideFit
from aligncheck.photo import Photo

__all__ = ["SideFit", "fit_sides"]


def fit_sides(
    photo: Photo,
    corners_px: ArrayLike,
    width_mm: float,
    height_mm: float,
    lens: Lens | None = None,
    depth_mm: float | None = None,
    tight: bool = False,
) -> SideFit:
    """Fit the four sides near `corners_px` (stub: returns the start with a wide covariance)."""
    del depth_mm, tight
    corners = np.asarray(corners_px, float)
    focal = photo.focal_px_by_camera or 0.8 * max(photo.width_px, photo.height_px)
    used = lens or Lens(focal, (photo.width_px - 1) / 2, (photo.height_px - 1) / 2, source="panel")
    covariance = np.diag([1.0] * 8 + [0.03**2, 0.01**2])
    return SideFit(corners, used, covariance, np.ones(4), np.ones(4), np.ones(4, bool), 0.0)
