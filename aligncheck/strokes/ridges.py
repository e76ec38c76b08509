"""Second derivatives of a small flat view: chalk and pencil lines are its ridges or valleys."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.float32]

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
        if step not in self._eigenvalues:
            self._eigenvalues[step] = self._eigenvalues_of(step)
        return self._eigenvalues[step]

    @cached_property
    def _eigenvalues(self) -> dict[int, tuple[Picture, Picture]]:
        return {}

    def _eigenvalues_of(self, step: int) -> tuple[Picture, Picture]:
        xx, xy, yy = (part[::step, ::step] for part in (self.xx, self.xy, self.yy))
        mean, half = (xx + yy) / 2, (xx - yy) / 2
        root = np.sqrt(half * half + xy * xy)
        return (mean + root).astype(np.float32), (mean - root).astype(np.float32)

    def sample(self, x_mm: Picture, y_mm: Picture) -> tuple[Picture, Picture, Picture]:
        """The derivatives at panel points, `x_mm` and `y_mm` of one shape (n, m); zero outside the view."""
        scale, (x0, y0) = np.float32(self.px_per_mm), self.origin_px
        x, y = x_mm * scale + np.float32(x0), y_mm * scale + np.float32(y0)
        # One by one: OpenCV samples one channel six times as fast as three side by side.
        xx, xy, yy = (
            np.asarray(cv2.remap(part, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT), np.float32)
            for part in (self.xx, self.xy, self.yy)
        )
        return xx, xy, yy


def ridges(picture: NDArray[np.uint8], px_per_mm: float, origin_px: tuple[float, float]) -> Ridges:
    """Find the ridges of a small flat view (h, w) of the panel.

    `px_per_mm` and `origin_px` say where the panel lies in it; about 3 pixels per mm on a panel of 30 cm.
    """
    sd = max(SMOOTH_MM * px_per_mm, SMOOTH_PX)
    smooth = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), sd)

    def derivative(dx: int, dy: int) -> Picture:
        # Sobel's smoothing weighs 4 for the pure second derivatives (1 2 1) and 4 for the mixed one (2 by 2).
        return np.asarray(cv2.Sobel(smooth, cv2.CV_32F, dx, dy, ksize=3, scale=-0.25), np.float32)

    return Ridges(derivative(2, 0), derivative(1, 1), derivative(0, 2), px_per_mm, origin_px)
