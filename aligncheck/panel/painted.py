"""Whether an outline is the outer edge of a band painted on the panel: around it the panel's ground shows again."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.beside import colours_beside
from aligncheck.panel.ground import BLACK, STANDS_OUT
from aligncheck.panel.panel import Panel

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
    ground = medians(colours_beside(pixels, panel, side, BESIDE_MM), 0)
    beyond = np.abs(colours_beside(pixels, panel, side, -BEYOND_MM) - ground)
    codes = ground + BLACK
    band = beyond[0]
    alike = (beyond < LIKE * codes).all(1) & (np.linalg.norm(beyond, axis=1) < LIKE_BAND * np.linalg.norm(band))
    return bool((band > STANDS_OUT * codes).any() and alike.any())


def _is_painted(pixels: NDArray[np.uint8], panel: Panel, side: int) -> bool:
    size_mm = min(panel.width_mm, panel.height_mm)
    outside, inside = (medians(colours_beside(pixels, panel, side, sign * np.array(BESIDE_MM)), 0) for sign in (-1, 1))
    grounds = colours_beside(pixels, panel, side, GROUND * size_mm)
    ground = grounds[int(np.linalg.norm(outside - grounds, axis=1).argmin())]
    band, off = np.abs(inside - ground), np.abs(outside - ground)
    codes = ground + BLACK
    stands_out, alike = (band > STANDS_OUT * codes).any(), (off < LIKE * codes).all()
    return bool(stands_out and alike and np.linalg.norm(off) < LIKE_BAND * np.linalg.norm(band))
