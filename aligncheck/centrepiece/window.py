"""A window on the panel: its pixels in cube-root colours with the bare panel beneath them."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.centrepiece.colours import Singles, cube_root_colours
from aligncheck.centrepiece.ground import Ground
from aligncheck.geometry.channels import summed
from aligncheck.geometry.scaled import Scaled

#: Rows that are worked on at a time.
STRIP = 64
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Window(Scaled):
    """A rectangle of the flat view.

    Attributes
    ----------
    colours, bare : ndarray (h, w, 3)
        What is seen, and the bare panel there, in cube-root colours.
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin lies, in pixels of the window.
    """

    colours: Singles
    bare: Singles
    px_per_mm: float
    origin_px: tuple[float, float]

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return self.colours.shape[0], self.colours.shape[1]

    @cached_property
    def _products(self) -> tuple[Singles, Singles, Singles]:
        """Squared length of the colours (h, w), their product with the bare ones, squared length of the bare ones."""
        products = np.empty((3, *self.shape), np.float32)
        # Strip by strip, so that what lies in between stays in the processor's cache.
        for top in range(0, len(self.colours), STRIP):
            own, bare = self.colours[top : top + STRIP], self.bare[top : top + STRIP]
            for k, (a, b) in enumerate(((own, own), (own, bare), (bare, bare))):
                products[k, top : top + STRIP] = summed(cv2.multiply(a, b))
        return products[0], products[1], products[2]

    @cached_property
    def best_shade(self) -> Singles:
        """The factor (h, w) that brings the bare colour nearest to the one seen."""
        _, both, bare = self._products
        return np.asarray(both / bare, np.float32)

    def away(self, darkest: float, lightest: float) -> tuple[Singles, Singles]:
        """Distance (h, w) of the colours from the bare ones in their best shade between two, and that shade."""
        own, both, bare = self._products
        shade, distance = np.empty(self.shape, np.float32), np.empty(self.shape, np.float32)
        for top in range(0, len(own), STRIP):
            part = np.s_[top : top + STRIP]
            s, d = shade[part], distance[part]
            np.clip(self.best_shade[part], np.float32(darkest), np.float32(lightest), out=s)
            # |c - s b|^2, as a polynomial in s; rounding may leave it a little below nought.
            np.multiply(s, bare[part], out=d)
            d -= 2 * both[part]
            d *= s
            d += own[part]
            np.sqrt(np.maximum(d, 0, out=d), out=d)
        return distance, shade

    def radius_mm(self, centre_mm: ArrayLike) -> Singles:
        """Distance (h, w) of every pixel from a point of the panel."""
        cx, cy = self.to_view(centre_mm)
        h, w = self.shape
        x = (np.arange(w, dtype=np.float32) - np.float32(cx)) ** 2
        y = (np.arange(h, dtype=np.float32) - np.float32(cy)) ** 2
        return np.asarray(np.sqrt(y[:, None] + x[None, :]) / self.px_per_mm, np.float32)


def window_of(rgb: NDArray[np.uint8], ground: Ground, px_per_mm: float, origin_px: tuple[float, float]) -> Window:
    """The window whose sRGB pixels are `rgb`."""
    colours = cube_root_colours(rgb)
    return Window(colours, ground.image(rgb.shape[:2], px_per_mm, origin_px), px_per_mm, origin_px)


def shaded_distance(window: Window, darkest: float = 0.4) -> tuple[Singles, Singles]:
    """How unlike the panel each pixel is: distance (h, w) to the bare colour in its best shade, and that shade.

    The shade is held between `darkest` and 1.05: light that is blocked darkens, and nothing brightens much.
    """
    return window.away(darkest, 1.05)
