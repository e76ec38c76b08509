"""Whether an outline is the outer edge of a band painted on the panel: around it the panel's ground shows again."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.ground import BLACK, STANDS_OUT
from aligncheck.panel.panel import Panel, nominal_corners

Floats = NDArray[np.float64]

#: Beside the outline, but for the blur of its edge (mm); the ground at these shares of the size further in, beyond a
#: band, where it is most like.
BESIDE_MM = (1.0, 1.7, 2.4)
GROUND: Floats = np.linspace(0.12, 0.3, 7)
#: Where it may come back outside (mm), beyond a band that begins at the first of these.
BEYOND_MM: Floats = np.arange(1.0, 26.0, 1.0)
#: The ground around is the one within to this share of its codes (a lamp's sheen fades by that on the way), and to this
#: share of what the band differs by.
LIKE, LIKE_BAND = 0.25, 0.25
PLACES = 120


def is_painted_edge(pixels: NDArray[np.uint8], panel: Panel) -> bool:
    """Whether along all sides of `panel`, an outline as fitted, the panel's ground lies around another colour.

    Around a panel lies something else, and its own colour next to its sides; where a table has the panel's colour, it
    has so on all four sides only by chance, and the panel would have to be framed by another one.
    """
    return all(_is_painted(pixels, panel, side) for side in range(4))


def is_band_beyond(pixels: NDArray[np.uint8], panel: Panel) -> bool:
    """Whether along all sides of `panel` another colour lies outside, and beyond it the panel's ground again.

    So does a band painted on the panel; so does a sheet on a table of the panel's colour.
    """
    return all(_comes_back(pixels, panel, side) for side in range(4))


def _comes_back(pixels: NDArray[np.uint8], panel: Panel, side: int) -> bool:
    ground = medians(_seen(pixels, panel, side, np.array(BESIDE_MM)), 0)
    beyond = np.abs(_seen(pixels, panel, side, -BEYOND_MM) - ground)
    codes = ground + BLACK
    band = beyond[0]
    alike = (beyond < LIKE * codes).all(1) & (np.linalg.norm(beyond, axis=1) < LIKE_BAND * np.linalg.norm(band))
    return bool((band > STANDS_OUT * codes).any() and alike.any())


def _is_painted(pixels: NDArray[np.uint8], panel: Panel, side: int) -> bool:
    size_mm = min(panel.width_mm, panel.height_mm)
    outside, inside = (medians(_seen(pixels, panel, side, sign * np.array(BESIDE_MM)), 0) for sign in (-1, 1))
    grounds = _seen(pixels, panel, side, GROUND * size_mm)
    ground = grounds[int(np.linalg.norm(outside - grounds, axis=1).argmin())]
    band, off = np.abs(inside - ground), np.abs(outside - ground)
    codes = ground + BLACK
    stands_out, alike = (band > STANDS_OUT * codes).any(), (off < LIKE * codes).all()
    return bool(stands_out and alike and np.linalg.norm(off) < LIKE_BAND * np.linalg.norm(band))


def _seen(pixels: NDArray[np.uint8], panel: Panel, side: int, depths_mm: Floats) -> NDArray[np.float32]:
    """Median colours (depths, 3) along lines so far inside a side, outside where negative."""
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    first, along = corners[side], corners[(side + 1) % 4] - corners[side]
    inward = np.array([-along[1], along[0]]) / np.hypot(*along)
    shares = np.linspace(0.04, 0.96, PLACES)[:, None]
    at = panel.to_photo(first + shares * along + depths_mm[:, None, None] * inward).astype(np.float32)
    codes = cv2.remap(pixels, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return medians(codes.astype(np.float32), 1)
