"""The flat view: the same pixels whether all of it or only its rim is made, and where the map says they are."""

import cv2
import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.lens.bend import unbend_each
from aligncheck.panel.flat import flat_view
from aligncheck.panel.panel import Panel

LENS = Lens(900.0, 499.5, 374.5, k1=-0.04, k2=0.01)
CORNERS = np.array([[210.0, 110], [800, 130], [830, 640], [170, 660]])


@pytest.fixture
def panel() -> Panel:
    return Panel.from_corners(300.0, 260.0, LENS, CORNERS)


@pytest.fixture
def picture() -> np.ndarray:
    noise = np.random.default_rng(5).normal(120, 60, (750, 1000, 3))
    return np.asarray(cv2.GaussianBlur(noise, (0, 0), 3.0).clip(0, 255), np.uint8)


@pytest.mark.parametrize("rim", [5, 40, 64, 77, 240, 300])
def test_rim_is_that_of_the_whole(panel: Panel, picture: np.ndarray, rim: int) -> None:
    """Every pixel of the rim, colour or grey; a rim that meets itself is the whole."""
    for pixels in (picture, picture[..., 0].copy()):
        whole = flat_view(pixels, panel, 2.0, margin_mm=6.0).image
        some = flat_view(pixels, panel, 2.0, margin_mm=6.0, rim_px=rim).image
        inner = np.zeros(whole.shape[:2], bool)
        inner[rim:-rim, rim:-rim] = True
        assert np.array_equal(some[~inner], whole[~inner])


def test_pixels_are_where_the_map_says(panel: Panel, picture: np.ndarray) -> None:
    """Against the exact map at every pixel: within what a thirty-second of a pixel makes of so smooth a picture."""
    view = flat_view(picture, panel, 1.7)
    ys, xs = np.mgrid[0 : view.image.shape[0], 0 : view.image.shape[1]]
    at = panel.to_photo(view.to_panel(np.stack([xs, ys], -1))).astype(np.float32)
    exact = cv2.remap(picture, at[..., 0], at[..., 1], cv2.INTER_LINEAR)
    off = np.abs(view.image.astype(float) - exact)
    assert off.max() <= 3
    assert off.mean() < 0.25


def test_several_lenses_at_once() -> None:
    """Each lens straightens the same pixels as it does alone."""
    lenses = [LENS, Lens(880.0, 510.0, 370.0), Lens(905.0, 499.0, 380.0, k1=0.08, k2=-0.02)]
    pixels = np.random.default_rng(2).uniform(0, 700, (40, 2))
    together = unbend_each(lenses, pixels)
    for lens, straight in zip(lenses, together, strict=True):
        assert np.allclose(straight, lens.unbend(pixels), rtol=0, atol=1e-13)
