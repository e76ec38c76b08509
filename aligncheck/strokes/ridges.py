"""Second derivatives of a small flat view: chalk and pencil lines are its ridges or valleys."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps

Picture = NDArray[np.float32]

#: The flat view's longer side in pixels: a 1 mm stroke on a 30 cm panel is then 3 pixels wide, as in the smoothing.
SIDE_PX = 900
MIN_PX_PER_MM, MAX_PX_PER_MM = 1.4, 6.0
#: Smoothing before the derivatives: about a stroke's own shape, and never finer than the view's pixels.
SMOOTH_MM, SMOOTH_PX = 0.36, 1.1


@dataclass(frozen=True)
class Ridges:
    """How sharply the flat view falls off to both sides, by direction.

    Attributes
    ----------
    xx, xy, yy : ndarray (h, w), float32
        Second derivatives in grey values per pixel squared, negated: the middle of a light stroke is positive.
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin lies.
    """

    xx: Picture
    xy: Picture
    yy: Picture
    px_per_mm: float
    origin_px: tuple[float, float]

    def negated(self) -> "Ridges":
        """The same for dark strokes."""
        return Ridges(-self.xx, -self.xy, -self.yy, self.px_per_mm, self.origin_px)

    def eigenvalues(self, step: int = 1) -> tuple[Picture, Picture]:
        """Larger and smaller eigenvalue of every `step`-th pixel.

        On a stroke the larger is far above zero and the smaller near it.
        """
        xx, xy, yy = (part[::step, ::step] for part in (self.xx, self.xy, self.yy))
        mean, half = (xx + yy) / 2, (xx - yy) / 2
        root = np.sqrt(half * half + xy * xy)
        return (mean + root).astype(np.float32), (mean - root).astype(np.float32)

    def sample(self, x_mm: Picture, y_mm: Picture) -> tuple[Picture, Picture, Picture]:
        """The derivatives at panel points, `x_mm` and `y_mm` of one shape (n, m); zero outside the view."""
        scale, (x0, y0) = np.float32(self.px_per_mm), self.origin_px
        x, y = x_mm * scale + np.float32(x0), y_mm * scale + np.float32(y0)
        parts: Picture = np.asarray(
            cv2.remap(self._stacked, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT), np.float32
        )
        return parts[..., 0], parts[..., 1], parts[..., 2]

    @cached_property
    def _stacked(self) -> Picture:
        return np.asarray(cv2.merge([self.xx, self.xy, self.yy]), np.float32)


def small_flat_view(
    grey: NDArray[np.uint8], panel: Panel, side_px: int = SIDE_PX
) -> tuple[NDArray[np.uint8], float, tuple[float, float]]:
    """The panel from above at a modest scale: picture, px per mm, and the panel's origin in it.

    The photo is first reduced by area means, so that fine chalk is averaged and not skipped.
    """
    scale = float(np.clip(side_px / max(panel.width_mm, panel.height_mm), MIN_PX_PER_MM, MAX_PX_PER_MM))
    width, height = round(panel.width_mm * scale), round(panel.height_mm * scale)
    origin = ((width - 1) / 2, (height - 1) / 2)
    map_x, map_y = flat_maps(panel, scale, (width, height), origin)
    factor = int(np.clip(2 ** np.floor(np.log2(max(float(panel.px_per_mm()) / scale, 1.0))), 1, 8))
    if factor > 1:
        size = (grey.shape[1] // factor, grey.shape[0] // factor)
        grey = np.asarray(
            cv2.resize(grey[: size[1] * factor, : size[0] * factor], size, interpolation=cv2.INTER_AREA), np.uint8
        )
        map_x, map_y = ((m + np.float32(0.5)) / np.float32(factor) - np.float32(0.5) for m in (map_x, map_y))
    picture = cv2.remap(grey, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(picture, np.uint8), scale, origin


def ridges(grey: NDArray[np.uint8], panel: Panel) -> Ridges:
    """Find the ridges of `panel` in the full-size grey photo."""
    picture, scale, origin = small_flat_view(grey, panel)
    sd = max(SMOOTH_MM * scale, SMOOTH_PX)
    smooth = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), sd)

    def derivative(dx: int, dy: int) -> Picture:
        # Sobel's smoothing weighs 4 for the pure second derivatives (1 2 1) and 4 for the mixed one (2 by 2).
        return np.asarray(cv2.Sobel(smooth, cv2.CV_32F, dx, dy, ksize=3, scale=-0.25), np.float32)

    return Ridges(derivative(2, 0), derivative(1, 1), derivative(0, 2), scale, origin)
