"""Pictures that show the panel's face seen straight from above, all at one scale."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class Scaled:
    """Where panel mm lie in such a picture: `origin_px` is the panel's origin; pixel centres are whole numbers."""

    px_per_mm: float
    origin_px: tuple[float, float]

    def to_view(self, points_mm: ArrayLike) -> Floats:
        """Panel mm (..., 2) to pixels of the view."""
        return np.asarray(points_mm, float) * self.px_per_mm + self.origin_px

    def to_panel(self, pixels: ArrayLike) -> Floats:
        """Pixels of the view (..., 2) to panel mm."""
        return (np.asarray(pixels, float) - self.origin_px) / self.px_per_mm
