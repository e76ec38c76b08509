"""The small view: the photo reduced by area averaging, as the search for the outline sees it."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.small import medians
from aligncheck.lens import Lens
from aligncheck.photo import Photo
from aligncheck.photo.photo import area_means

Floats = NDArray[np.float64]
Channels = NDArray[np.float32]

#: Long side of the small view: a side of a panel is then some hundred pixels long, and its edge one pixel wide.
LONG_SIDE_PX = 1008

#: Focal length over long side where the photo does not say: phones' main cameras lie between 0.65 and 0.85.
USUAL_FOCAL = 0.75

#: Luminance, and two colour differences in which light and shadow of one lamp cancel; columns from R, G, B.
CHANNEL_MATRIX = np.array([[0.3, 0.6, 0.1], [1.0, 0.0, -1.0], [-0.5, 1.0, -0.5]], np.float32)


def channels_of(rgb: Channels) -> Channels:
    """Luminance, R - B, G - (R + B) / 2 of a picture (h, w, 3)."""
    return np.asarray(cv2.transform(rgb, CHANNEL_MATRIX), np.float32)


@dataclass(frozen=True)
class SmallView:
    """The photo at about a thousand pixels.

    Attributes
    ----------
    rgb : ndarray (h, w, 3) uint8
        sRGB codes, area-averaged.
    reduction : float
        Photo pixels per pixel of the view.
    focal_px, centre_px
        The camera in pixels of the view.
    focal_known : bool
        Whether the focal length came from the photo or a profile.
    """

    rgb: NDArray[np.uint8]
    reduction: float
    focal_px: float
    centre_px: tuple[float, float]
    focal_known: bool = True

    @classmethod
    def of(cls, photo: Photo, lens: Lens | None = None) -> "SmallView":
        """Reduce `photo`; the camera from `lens` where given, else from what the photo says of itself."""
        reduction = max(1.0, max(photo.width_px, photo.height_px) / LONG_SIDE_PX)
        size = (round(photo.width_px / reduction), round(photo.height_px / reduction))
        if reduction % 1 == 0 and photo.width_px % reduction == 0 and photo.height_px % reduction == 0:
            rgb = photo.reduced(int(reduction))
        else:
            rgb = area_means(photo.rgb, size)
        by_camera = lens.focal_px if lens else photo.focal_px_by_camera
        focal = by_camera or USUAL_FOCAL * max(photo.width_px, photo.height_px)
        centre = (lens.cx_px, lens.cy_px) if lens else ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
        cx, cy = ((c + 0.5) / reduction - 0.5 for c in centre)
        return cls(rgb, reduction, focal / reduction, (cx, cy), by_camera is not None)

    def with_focal(self, factor: float) -> "SmallView":
        """The same view through a camera whose focal length is `factor` times as long."""
        return SmallView(self.rgb, self.reduction, self.focal_px * factor, self.centre_px, self.focal_known)

    @property
    def width(self) -> int:
        """Width in pixels of the view."""
        return int(self.rgb.shape[1])

    @property
    def height(self) -> int:
        """Height in pixels of the view."""
        return int(self.rgb.shape[0])

    @cached_property
    def luminance(self) -> Channels:
        """Luminance in codes, as reduced (not averaged further): (h, w)."""
        return np.asarray(cv2.transform(self.rgb.astype(np.float32), CHANNEL_MATRIX[:1]), np.float32)

    @cached_property
    def means(self) -> Channels:
        """Means of 3 x 3 pixels, R, G, B in codes: (h, w, 3). Bytes are averaged faster than floats."""
        return np.asarray(cv2.boxFilter(self.rgb, cv2.CV_32F, (3, 3)), np.float32)

    @cached_property
    def channels(self) -> Channels:
        """Luminance, R - B, G - (R + B) / 2 in codes, each the mean of 3 x 3 pixels: (h, w, 3)."""
        return channels_of(self.means)

    @cached_property
    def by_noise(self) -> Channels:
        """The channels in units of their own noise: (h, w, 3)."""
        matrix = (CHANNEL_MATRIX / self.noise[:, None]).astype(np.float32)
        return np.asarray(cv2.transform(self.means, matrix), np.float32)

    @cached_property
    def noise(self) -> Floats:
        """Robust scatter of the averaged channels, (3,): what no edge has caused, at least a third of a code.

        1.48 x the median absolute difference between a pixel and the mean of its two neighbours at 3 px, where the
        averaged cells do not overlap; that difference has variance 1.5 times the pixel's own.
        """
        c = channels_of(np.ascontiguousarray(self.means[1::12]))
        difference = np.abs(c[:, 3:-3:3] - (c[:, :-6:3] + c[:, 6::3]) / 2)
        scatter = 1.48 * medians(np.ascontiguousarray(difference.reshape(-1, 3).T), 1)
        return np.asarray(np.maximum(scatter / np.sqrt(1.5), 0.33), float)

    def to_photo(self, points: ArrayLike) -> Floats:
        """Pixels of the view to photo pixels; both have (0, 0) at the centre of their first pixel."""
        return (np.asarray(points, float) + 0.5) * self.reduction - 0.5

    def from_photo(self, points: ArrayLike) -> Floats:
        """Photo pixels to pixels of the view."""
        return (np.asarray(points, float) + 0.5) / self.reduction - 0.5
