"""What the top of a piece looks like: paper, wood, cloth, glass; fixed to the piece, so that it turns with it."""

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.noise import smooth, streaks
from tests.render.tiles import Image

Surface = Literal["plain", "paper", "wood", "cloth", "glass"]

#: Scale of the painted surfaces, px per mm, and half their side, mm: no piece reaches farther from its middle.
SCALE, HALF_MM = 5.0, 110.0
#: Share of the light that comes through glass, and how wide its bright rim is, mm.
THROUGH, RIM_MM = 0.55, 1.2


def relief(surface: Surface, seed: int) -> Image:
    """Relative brightness (n, n), mean about 1, of a surface about the piece's middle."""
    rng = np.random.default_rng([seed, 11])
    side = round(2 * HALF_MM * SCALE)
    shape = (side, side)
    if surface == "paper":
        # Fibres, and the soft creases of bent petals.
        return 1 + 0.02 * smooth(rng, shape, 0.3 * SCALE) + 0.06 * smooth(rng, shape, 4 * SCALE)
    if surface == "wood":
        return 1 + 0.12 * streaks(rng, shape, 30 * SCALE, 0.8 * SCALE)
    if surface == "cloth":
        thread = np.sin(np.arange(side, dtype=np.float32) * np.float32(2 * np.pi / 0.8 / SCALE))
        folds = 0.08 * smooth(rng, shape, 9 * SCALE)
        return np.asarray(1 + 0.05 * (thread[:, None] + thread) + folds, np.float32)
    if surface == "glass":
        return 1 + 0.1 * smooth(rng, shape, 12 * SCALE)
    return np.ones(shape, np.float32)


def on_plan(field: Image, plan: Image, centre_mm: tuple[float, float], turn_deg: float) -> Image:
    """A surface's field at plan points (h, w, 2)."""
    a = np.radians(turn_deg)
    away = plan - np.asarray(centre_mm, np.float32)
    x = away[..., 0] * np.float32(np.cos(a)) + away[..., 1] * np.float32(np.sin(a))
    y = away[..., 1] * np.float32(np.cos(a)) - away[..., 0] * np.float32(np.sin(a))
    at = [((v + np.float32(HALF_MM)) * np.float32(SCALE)).astype(np.float32) for v in (x, y)]
    return np.asarray(cv2.remap(field, at[0], at[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32)


def glass_cover(cover: NDArray[np.float32], px_per_mm: float) -> NDArray[np.float32]:
    """How much of what lies below glass hides (h, w): little in the middle, more at its ground edge."""
    inside = cv2.distanceTransform((cover > 0.5).astype(np.uint8), cv2.DIST_L2, 5)
    rim = np.exp(-inside / np.float32(RIM_MM * px_per_mm))
    return np.asarray(cover * (1 - THROUGH + THROUGH * 0.7 * rim), np.float32)
