"""Pictures of a square outline whose surroundings are known: colours from the middle outward, seen from above."""

import numpy as np

from aligncheck.lens import Lens
from aligncheck.panel import Panel

SIDE_MM, PX_PER_MM = 150.0, 4.0
SIZE_PX = 800
#: Distance (mm) outward from the outline's sides, at every pixel.
OUTWARD_MM = np.abs(np.mgrid[:SIZE_PX, :SIZE_PX] - (SIZE_PX - 1) / 2).max(axis=0) / PX_PER_MM - SIDE_MM / 2
PANEL, TABLE, CHALK, PENCIL = (30, 60, 45), (205, 200, 190), (225, 222, 215), (75, 75, 80)


def outline() -> Panel:
    half = SIDE_MM / 2 * PX_PER_MM
    middle = (SIZE_PX - 1) / 2
    corners = middle + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]])
    return Panel.from_corners(SIDE_MM, SIDE_MM, Lens(900.0, middle, middle), corners)


def pictured(*layers: tuple[float, tuple[int, int, int]], shade: np.ndarray | float = 1.0) -> np.ndarray:
    """Colours from the middle outward, each from its distance (mm) on, edges a pixel wide."""
    picture = np.full((SIZE_PX, SIZE_PX, 3), layers[0][1], float)
    for start, colour in layers[1:]:
        share = np.clip((OUTWARD_MM - start) * PX_PER_MM + 0.5, 0, 1)[..., None]
        picture = picture * (1 - share) + share * np.array(colour, float)
    picture *= shade if np.isscalar(shade) else np.asarray(shade)[..., None]
    noise = np.random.default_rng(2).normal(0, 2, picture.shape)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)
