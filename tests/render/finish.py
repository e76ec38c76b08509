"""From light to a phone's picture: exposure, defocus, noise, tone curve, sharpening."""

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.scene import Finish
from tests.render.tiles import Image

#: Read noise of a small sensor against its noise at white.
READ_NOISE = 0.25


def develop(light: Image, finish: Finish, rng: np.random.Generator) -> NDArray[np.uint8]:
    """sRGB codes (h, w, 3) from linear light; `light` is used up."""
    light *= np.float32(finish.exposure)
    if finish.vignette > 0:
        light *= _vignette(light.shape[:2], finish.vignette)[..., None]
    if finish.blur_px > 0:
        cv2.GaussianBlur(light, (0, 0), finish.blur_px, dst=light)
    codes = np.empty(light.shape, np.uint8)
    table = _tone_table()
    # In bands: the noise of the whole picture at once would take as much memory as the picture.
    for top in range(0, len(light), 256):
        band = light[top : top + 256]
        if finish.noise > 0:
            # Photon noise grows with the root of the light; the sensor's own stays.
            spread = np.sqrt(np.maximum(band, 0) + np.float32(READ_NOISE**2)) * np.float32(finish.noise)
            band += spread * rng.standard_normal(band.shape, dtype=np.float32)
        codes[top : top + 256] = table[(np.clip(band, 0, 1) * 65535).astype(np.uint16)]
    if finish.sharpen > 0:
        soft = cv2.GaussianBlur(codes, (0, 0), 1.2)
        codes = cv2.addWeighted(codes, 1 + finish.sharpen, soft, -finish.sharpen, 0)
    return codes


def _vignette(shape: tuple[int, int], share: float) -> Image:
    """What is left of the light (h, w): it falls by the square of the distance from the middle, `share` in corners."""
    y, x = (np.linspace(-1, 1, n, dtype=np.float32) for n in shape)
    long = float(np.hypot(*shape))
    across, down = (x * shape[1] / long) ** 2, (y * shape[0] / long) ** 2
    return np.asarray(1 - np.float32(share) * (across[None, :] + down[:, None]), np.float32)


def _tone_table() -> NDArray[np.uint8]:
    """sRGB code of every 16-bit linear value (IEC 61966-2-1)."""
    v = np.arange(65536) / 65535
    codes = np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)
    return np.round(codes * 255).astype(np.uint8)
