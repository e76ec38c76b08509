"""A chalk line so near to a side that hardly any ground shows beyond is no side; a border's dark band is no shadow."""

import cv2
import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.panel.panel import Panel
from aligncheck.panel.ridge import ridges
from aligncheck.panel.shadow import ground_goes_on, throws_shadow

SIZE_PX, SIDE_MM, PX_PER_MM = 900, 200.0, 3.4
GROUND, CHALK, TABLE = 40, 200, 110


def outline(side_mm: float = SIDE_MM) -> Panel:
    """A square about the picture's middle, seen from straight above."""
    half = side_mm / 2 * PX_PER_MM
    corners = (SIZE_PX - 1) / 2 + half * np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    middle = (SIZE_PX - 1) / 2
    return Panel.from_corners(SIDE_MM, SIDE_MM, Lens(3000.0, middle, middle), corners)


def pictured(*bands: tuple[float, int], fade_mm: float = 0.0) -> np.ndarray:
    """Squares within squares: (mm beyond the outline's sides, code further in), the largest first."""
    y, x = np.mgrid[:SIZE_PX, :SIZE_PX] - (SIZE_PX - 1) / 2
    beyond = np.maximum(np.abs(x), np.abs(y)) / PX_PER_MM - SIDE_MM / 2
    picture = np.full(beyond.shape, float(TABLE))
    if fade_mm:
        picture *= 1 - 0.4 * np.exp(-np.maximum(beyond, 0) / fade_mm)
    for mm, code in bands:
        picture[beyond < mm] = code
    blurred = cv2.GaussianBlur(picture, (0, 0), 0.9)
    return np.repeat(np.round(blurred)[..., None].astype(np.uint8), 3, axis=2)


@pytest.mark.parametrize("strip_mm", [0.8, 1.5, 2.4])
@pytest.mark.parametrize("from_mm", [-1.0, 0.0])
def test_chalk_with_a_strip_of_ground_beyond_it_is_a_ridge(strip_mm: float, from_mm: float) -> None:
    picture = pictured((from_mm + 1.0 + strip_mm, GROUND), (from_mm + 1.0, CHALK), (from_mm, GROUND))
    assert ridges(picture, outline()) == 4


@pytest.mark.parametrize(
    ("what", "bands", "fade_mm"),
    [
        ("a side", ((0.0, GROUND),), 0.0),
        ("a side in its own shade", ((0.0, GROUND),), 3.0),
        ("a side with a line a millimetre inside it", ((0.0, GROUND), (-1.0, CHALK), (-2.0, GROUND)), 0.0),
        ("a white sheet under it", ((4.0, CHALK), (0.0, GROUND)), 0.0),
    ],
)
def test_what_is_no_ridge(what: str, bands: tuple[tuple[float, int], ...], fade_mm: float) -> None:
    assert ridges(pictured(*bands, fade_mm=fade_mm), outline()) == 0, what


def test_a_dark_band_with_the_ground_beyond_it_is_no_shadow() -> None:
    """The panel ends 9 mm outside; the band lies between 0 and 4 mm."""
    picture = pictured((9.0, 90), (4.0, 20), (0.0, 90))
    outer = outline(SIDE_MM + 18).corners_px
    assert throws_shadow(picture, outline(), outer)
    assert ground_goes_on(picture, outline(), outer)


def test_a_sheet_under_a_panel_is_no_ground_of_its() -> None:
    picture = pictured((9.0, 220), (0.0, 90))
    assert not ground_goes_on(picture, outline(), outline(SIDE_MM + 18).corners_px)
