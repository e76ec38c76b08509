"""Glossy domes under one lamp, on a panel of any colour: lit, shaded, with highlight and shadow."""

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.special import expit

from aligncheck.marks import Marks
from aligncheck.photo import Photo
from tests.dots.painted import CENTRE, MARGIN_PX, PX_PER_MM, SIDE_MM, Painting

#: Light from all around as a share of all light, and the exponent and strength of the highlight.
AMBIENT, SHINE, GLOSS = 0.35, 60.0, 0.5
#: Height of a dome as a share of its radius: paint that flowed.
FLAT = 0.6


@dataclass
class Lit:
    """A painting whose dots are domes.

    Attributes
    ----------
    painting : Painting
    lamp_deg, height_deg : float
        Where the lamp stands: clockwise from above in the picture, and above the panel.
    """

    painting: Painting
    lamp_deg: float = 100.0
    height_deg: float = 35.0

    def draw(self) -> tuple[Photo, Marks, np.ndarray, np.ndarray]:
        """The photo, its marks, the domes' true middles from the panel's (n, 2) and their diameters (n,)."""
        p = self.painting
        rng = np.random.default_rng(p.seed)
        size = round(SIDE_MM * PX_PER_MM)
        all_y, all_x = (np.mgrid[0:size, 0:size] + 0.5) / PX_PER_MM - SIDE_MM / 2
        turn, up = np.radians(self.lamp_deg), np.radians(self.height_deg)
        lamp = np.array([np.sin(turn) * np.cos(up), -np.cos(turn) * np.cos(up), np.sin(up)])
        image = np.empty((size, size, 3), np.float32)
        image[:] = (np.array(p.ground) / 255) ** 2.2
        places, diameters, colours = self._dots(rng)
        for at, wide in zip(places, diameters, strict=True):
            # The shadow of a dome that is as high as it is flat, soft at its end.
            r = wide / 2
            thrown = FLAT * r / np.tan(up) * 0.5
            part = _around(at, 2.5 * r + thrown)
            x, y = all_x[part], all_y[part]
            far = np.hypot(x - at[0] + lamp[0] / np.cos(up) * thrown, y - at[1] + lamp[1] / np.cos(up) * thrown)
            hidden = expit((r - far) / (0.1 * r))
            image[part] *= (1 - (1 - AMBIENT) * 0.8 * hidden)[..., None].astype(np.float32)
        for at, wide, colour in zip(places, diameters, colours, strict=True):
            part = _around(at, wide / 2 + 1.0)
            u, v = (all_x[part] - at[0]) / (wide / 2), (all_y[part] - at[1]) / (wide / 2)
            rho = np.hypot(u, v)
            inside = np.clip((1 - rho) * wide / 2 * PX_PER_MM + 0.5, 0, 1)
            lift = np.sqrt(np.maximum(1 - rho**2, 0.02))
            normal = np.stack([FLAT * u, FLAT * v, lift], -1)
            normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
            half = lamp + (0, 0, 1)
            half /= np.linalg.norm(half)
            lit = AMBIENT + (1 - AMBIENT) * np.maximum(normal @ lamp, 0) / lamp[2]
            glint = GLOSS * np.maximum(normal @ half, 0) ** SHINE
            shown = (np.array(colour) / 255) ** 2.2 * lit[..., None] + glint[..., None]
            image[part] += (inside[..., None] * (shown - image[part])).astype(np.float32)
        codes = 255 * np.clip(image, 0, 1) ** (1 / 2.2)
        framed = cv2.copyMakeBorder(codes, *[MARGIN_PX] * 4, cv2.BORDER_CONSTANT, value=(128, 128, 128))
        noisy = cv2.GaussianBlur(framed, (0, 0), 0.7) + rng.normal(0, 2.0, framed.shape)
        photo = Photo(np.clip(noisy, 0, 255).astype(np.uint8))
        return photo, p._marks(len(framed)), places, diameters

    def _dots(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, list[tuple[int, int, int]]]:
        p = self.painting
        all_of = [(kind, k) for kind in range(len(p.kinds)) for k in range(p.order) if (kind, k) not in p.gone]
        places = np.array([p.centre_mm(*one) + CENTRE + rng.normal(0, p.hand_mm, 2) for one in all_of])
        diameters = np.array([p.kinds[kind].diameter_mm * rng.normal(1, 0.02) for kind, _ in all_of])
        return places, diameters, [p.kinds[kind].colour for kind, _ in all_of]


def _around(at: np.ndarray, reach_mm: float) -> tuple[slice, slice]:
    """Rows and columns of the picture within so far of a place: beyond, a dome and its shadow change nothing."""
    middle = (np.asarray(at)[::-1] + SIDE_MM / 2) * PX_PER_MM
    low, high = middle - reach_mm * PX_PER_MM, middle + reach_mm * PX_PER_MM + 1
    rows, columns = (slice(max(0, int(a)), max(0, int(b) + 1)) for a, b in zip(low, high, strict=True))
    return rows, columns
