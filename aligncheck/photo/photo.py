"""The Photo value: upright sRGB pixels and what the file says about them."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note

Bytes = NDArray[np.uint8]

#: Proportions in which cameras take photos: of sensors, of film, square, and of the phones' own screens.
FRAMES = (1.0, 5 / 4, 4 / 3, 7 / 5, 3 / 2, 16 / 10, 16 / 9, 18 / 9, 19 / 9, 19.5 / 9, 20 / 9, 21 / 9)
#: Frames keep their proportions to about so much: sides are whole blocks of the file's coding, or rounded when reduced.
WHOLE_PX, WHOLE_SHARE = 2.0, 0.003


@dataclass(frozen=True)
class Camera:
    """What the photo says of the camera; None where it says nothing.

    `f35_mm` is the focal length as on 35 mm film (36 mm wide for landscape; EXIF 2.3 takes the diagonal ratio);
    it already contains digital zoom.
    """

    make: str | None = None
    model: str | None = None
    lens: str | None = None
    f35_mm: float | None = None


@dataclass(frozen=True)
class Photo:
    """One upright photo.

    Attributes
    ----------
    rgb : ndarray, shape (height, width, 3), uint8
        Upright sRGB codes. Pixel (x, y) = (0, 0) is the centre of the top-left pixel.
    path : Path or None
        Where it was read from.
    sha256 : str or None
        Of the file's bytes.
    taken : str or None
        ISO 8601.
    orientation : int or None
        The EXIF orientation (1 to 8) that was undone to stand the picture upright; None where the file states none.
        A lens profile belongs to the sensor, so it must know how the sensor lay.
    """

    rgb: Bytes
    path: Path | None = None
    sha256: str | None = None
    taken: str | None = None
    camera: Camera = Camera()
    notes: tuple[Note, ...] = ()
    orientation: int | None = None

    @property
    def width_px(self) -> int:
        """Width of the upright photo."""
        return int(self.rgb.shape[1])

    @property
    def height_px(self) -> int:
        """Height of the upright photo."""
        return int(self.rgb.shape[0])

    @property
    def cropped(self) -> bool:
        """Whether the picture has other proportions than cameras give it: then its middle is not the lens's, either."""
        long, short = max(self.width_px, self.height_px), min(self.width_px, self.height_px)
        return all(abs(long - ratio * short) > WHOLE_PX + WHOLE_SHARE * long for ratio in FRAMES)

    @cached_property
    def grey(self) -> Bytes:
        """Luma of the sRGB codes, shape (height, width), uint8, full size; computed once."""
        return np.asarray(cv2.cvtColor(self.rgb, cv2.COLOR_RGB2GRAY), np.uint8)

    def reduced(self, factor: int) -> Bytes:
        """Means of `factor` x `factor` pixels; what is left over at the right and the lower edge is cut off.

        Kept, for several steps look at the whole photo from afar.
        """
        if factor not in self._reduced:
            size = (self.width_px // factor, self.height_px // factor)
            # Means of means: halves are asked for as well, and only they read the whole photo.
            halved = factor > 2 and factor % 2 == 0
            finer, step = (self.reduced(2), factor // 2) if halved else (self.rgb, factor)
            self._reduced[factor] = area_means(finer[: size[1] * step, : size[0] * step], size)
        return self._reduced[factor]

    @cached_property
    def _reduced(self) -> dict[int, Bytes]:
        return {}

    @property
    def focal_px_by_camera(self) -> float | None:
        """Focal length in pixels that the 35 mm figure implies (diagonal of 36 x 24 mm), or None.

        Phones round the figure to whole millimetres and mean the diagonal field of view (CIPA DCG-001). A cropped
        photo mostly keeps the figure that the whole one had.
        """
        if not self.camera.f35_mm or self.cropped:
            return None
        return self.camera.f35_mm / float(np.hypot(36, 24)) * float(np.hypot(self.width_px, self.height_px))


def area_means(pixels: Bytes, size: tuple[int, int]) -> Bytes:
    """A smaller picture of `size` (width, height), each pixel the mean of what it covers.

    By halves as long as that goes: OpenCV means two by two pixels several times as fast as any other number.
    """
    while pixels.shape[1] % 2 == 0 == pixels.shape[0] % 2 and pixels.shape[1] >= 2 * size[0]:
        half = (pixels.shape[1] // 2, pixels.shape[0] // 2)
        pixels = np.asarray(cv2.resize(pixels, half, interpolation=cv2.INTER_AREA), np.uint8)
    if pixels.shape[1::-1] != size:
        pixels = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    return pixels
