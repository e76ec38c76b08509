"""What a lens, and what is not known of it, does at the picture's corners: in px, and in mm on a panel."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: The panel that the mm stand for: 12 inches, filling this share of the picture's short side.
PANEL_MM, FILLED = 304.8, 0.9


@dataclass(frozen=True)
class CornerEffect:
    """How far the lens moves what it shows at the farthest corner, and the 95 % half-width of that.

    The mm are those on a 12-inch panel that fills the picture.
    """

    bend_px: float
    bend_u95_px: float
    bend_mm: float
    bend_u95_mm: float


def corner_effect(
    values: Floats, covariance: Floats, size_px: tuple[int, int], left_out_px: float = 0.0
) -> CornerEffect:
    """The bend at the picture's farthest corner.

    Parameters
    ----------
    values : ndarray (5,)
        focal, cx, cy, k1, k2 in px.
    covariance : ndarray (5, 5)
    size_px : (int, int)
    left_out_px : float
        What richer models move on top, which the five numbers cannot hold: added as one standard deviation.
    """
    focal, cx, cy, k1, k2 = values
    width, height = size_px
    farthest = np.hypot(max(cx, width - 1 - cx), max(cy, height - 1 - cy)) / focal
    r = farthest
    for _ in range(20):
        # Fixed-point steps of distorted = undistorted x (1 + ...): lenses bend by far less than half.
        r = farthest / (1 + k1 * r**2 + k2 * r**4)
    gradient = focal * np.array([r**3, r**5])
    sd = float(np.sqrt(gradient @ covariance[3:, 3:] @ gradient + left_out_px**2))
    mm = PANEL_MM / (FILLED * min(size_px))
    bend = float(gradient @ (k1, k2))
    return CornerEffect(bend, 1.96 * sd, bend * mm, 1.96 * sd * mm)
