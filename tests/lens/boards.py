"""Photographs of printed boards with a known lens: the sheet's own picture, seen by the tests' camera."""

from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from aligncheck.paper import lens_board_pdf
from aligncheck.photo import Camera as Phone
from aligncheck.photo import Photo
from tests.render import Camera, stand

PX_PER_MM = 6.0
SIZE_PX = (1600, 1200)
#: A phone lens that bends outwards, its axis off the picture's middle.
LENS = {"k1": 0.05, "k2": -0.03, "principal_px": (11.5, -7.5)}
PHONE = Phone("Testmaker", "T1", None, 26.0)


@cache
def own_sheet(paper: str = "a4") -> NDArray[np.uint8]:
    """The printed sheet, grey, `PX_PER_MM`."""
    page = pypdfium2.PdfDocument(lens_board_pdf(paper))[0]
    return np.asarray(page.render(scale=PX_PER_MM * 25.4 / 72 - 1e-7).to_pil().convert("L"))


def plain_sheet(columns: int, rows: int, square_mm: float = 20.0, margin_mm: float = 25.0) -> NDArray[np.uint8]:
    """A plain chessboard of so many squares on white paper."""
    side, margin = round(square_mm * PX_PER_MM), round(margin_mm * PX_PER_MM)
    black = (np.indices((rows, columns)).sum(0) % 2 == 0).repeat(side, 0).repeat(side, 1)
    return np.pad(np.where(black, 20, 250), margin, constant_values=250).astype(np.uint8)


def camera(sheet: NDArray[np.uint8], **stands: Any) -> Camera:
    """A camera with the test lens before the sheet; `stands` as for `tests.render.stand`."""
    size_mm = (sheet.shape[1] / PX_PER_MM, sheet.shape[0] / PX_PER_MM)
    return stand(SIZE_PX, size_mm, f35_mm=26.0, **{**LENS, **stands})


def picture(sheet: NDArray[np.uint8], view: Camera, seed: int = 0, noise: float = 2.0) -> NDArray[np.uint8]:
    """What the camera sees of the sheet on a brown table, RGB."""
    # The map at the middle of every 8 x 8 block, linear between: a lens is that smooth.
    size = (view.width_px // 8, view.height_px // 8)
    x, y = np.meshgrid(*(np.arange(-1, n + 1) * 8 + 3.5 for n in size))
    mm = view.plane_points(np.stack([x, y], -1)).astype(np.float32)
    mm = cv2.resize(mm, None, fx=8, fy=8, interpolation=cv2.INTER_LINEAR)[8:-8, 8:-8]
    at = mm * np.float32(PX_PER_MM) + (np.array(sheet.shape[::-1], np.float32) - 1) / 2
    # Shrinking needs an average: blur the sheet to about half a photo pixel first.
    row, column = view.height_px // 2, view.width_px // 2
    step = PX_PER_MM * np.linalg.norm(mm[row, column + 1] - mm[row, column])
    grey = cv2.GaussianBlur(sheet, (0, 0), max(0.5 * step, 0.5))
    seen = cv2.remap(grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=95).astype(float)
    seen = cv2.GaussianBlur(seen, (0, 0), 0.7)
    seen += np.random.default_rng(seed).normal(0, noise, seen.shape)
    return np.repeat(np.clip(seen, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def photo(sheet: NDArray[np.uint8], view: Camera, seed: int = 0, phone: Phone = PHONE, **noise: float) -> Photo:
    """The same as a Photo, as the sensor holds it."""
    return Photo(picture(sheet, view, seed, **noise), camera=phone, orientation=1)


def save(seen: Photo, path: Path, orientation: int = 1) -> Path:
    """Write the photo as a phone does; `orientation` is stated, the pixels stay as the sensor holds them."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = seen.camera.make, seen.camera.model, orientation
    exif.get_ifd(0x8769)[0xA405] = round(seen.camera.f35_mm or 0)
    Image.fromarray(seen.rgb).save(path, quality=95, exif=exif)
    return path


#: Where the phone stands for a whole calibration: from above, tilted to all sides, turned, sheet at the border.
STANDS: tuple[dict[str, Any], ...] = (
    {"tilt_deg": 3, "azimuth_deg": 0, "fill": 0.95},
    {"tilt_deg": 25, "azimuth_deg": 0, "roll_deg": 10, "fill": 0.8, "shift": (0.08, 0.05)},
    {"tilt_deg": 28, "azimuth_deg": 90, "roll_deg": -20, "fill": 0.8, "shift": (-0.08, -0.05)},
    {"tilt_deg": 25, "azimuth_deg": 180, "roll_deg": 40, "fill": 0.85, "shift": (-0.05, 0.05)},
    {"tilt_deg": 30, "azimuth_deg": 270, "roll_deg": -40, "fill": 0.85, "shift": (0.05, -0.05)},
)
