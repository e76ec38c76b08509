"""Whether an outline is the outer edge of a painted band, and what is then taken for the panel."""

import numpy as np
import pytest

from aligncheck.panel.painted import is_band_beyond, is_painted_edge
from tests.panel.layers import OUTWARD_MM, PANEL, PX_PER_MM, SIZE_PX, TABLE, outline, pictured
from tests.panel.scenes import found_in, taken
from tests.render.scene import Slab

BLUE, WHITE = (58, 111, 176), (232, 228, 218)


@pytest.mark.parametrize("wide_mm", [4.0, 14.0])
@pytest.mark.parametrize("band", [BLUE, WHITE])
def test_the_ground_around_a_band_tells_that_it_is_painted(band, wide_mm):
    picture = pictured((-99, PANEL), (-wide_mm, band), (0, PANEL), (8.0, TABLE))
    assert is_painted_edge(picture, outline())


def test_a_lamps_sheen_does_not_hide_it():
    across = (np.mgrid[:SIZE_PX, :SIZE_PX][1] - SIZE_PX / 2) / PX_PER_MM
    picture = pictured((-99, PANEL), (-8.0, BLUE), (0, PANEL), (8.0, TABLE), shade=1 + across / 250)
    assert is_painted_edge(picture, outline())


@pytest.mark.parametrize(
    ("what", "picture"),
    [
        ("a panel", pictured((-99, PANEL), (0, TABLE))),
        ("a panel with a painted margin", pictured((-99, PANEL), (-8, BLUE), (0, TABLE))),
        ("a panel on a sheet on a table of its own colour", pictured((-99, PANEL), (0, WHITE), (12.0, PANEL))),
        ("a panel on a table of its own colour", pictured((-99, PANEL), (0, (12, 24, 18)), (1.0, PANEL))),
        ("a band that goes round three sides", pictured((-99, PANEL), (-8, BLUE), (0, PANEL))),
    ],
)
def test_other_outlines_are_not(what, picture):
    if "three" in what:
        picture[: SIZE_PX // 2][OUTWARD_MM[: SIZE_PX // 2] > 0] = TABLE
    assert not is_painted_edge(picture, outline()), what


@pytest.mark.parametrize(
    ("beyond", "picture"),
    [
        (True, pictured((-99, PANEL), (0, BLUE), (6.0, PANEL), (9.5, TABLE))),
        (True, pictured((-99, PANEL), (0, WHITE), (15.0, PANEL), (22.0, TABLE))),
        (False, pictured((-99, PANEL), (0, TABLE))),
        (False, pictured((-99, PANEL), (0, WHITE), (12.0, BLUE))),
        (False, pictured((-99, PANEL))),
    ],
)
def test_beyond_a_bands_inner_edge_the_ground_comes_back(beyond, picture):
    assert is_band_beyond(picture, outline()) is beyond


@pytest.mark.parametrize(("from_mm", "wide_mm", "colour"), [(16.0, 21.0, "#3a6fb0"), (12.0, 5.0, "#e8e4da")])
def test_a_band_painted_along_the_sides_is_not_the_panel(from_mm, wide_mm, colour):
    side = 304.8 - 2 * from_mm
    off = (side - wide_mm) / 2
    places = [(0, -off, side, wide_mm), (0, off, side, wide_mm), (-off, 0, wide_mm, side), (off, 0, wide_mm, side)]
    band = tuple(Slab((x, y), (w, h), 0.0, colour, over_panel=True) for x, y, w, h in places)
    photo = taken(3, slabs=band)
    assert photo.worst_corner_mm(found_in(photo.photo)) < 0.5
