"""Corners by hand come in any order, and are refused where they are no corners."""

from itertools import permutations

import numpy as np
import pytest

from aligncheck.errors import PanelError
from aligncheck.panel import find_panel
from aligncheck.panel.by_hand import in_order
from aligncheck.photo import Camera, Photo

CORNERS = np.array([[210.0, 130.0], [880.0, 170.0], [930.0, 640.0], [190.0, 610.0]])


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_any_order_gives_top_left_first_then_round(order):
    np.testing.assert_array_equal(in_order(CORNERS[list(order)]), CORNERS)


def test_the_top_is_the_uppermost_side_of_a_rolled_panel():
    """Rolled by 50 degrees, the former left side lies uppermost."""
    a = np.radians(50)
    turned = (
        np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    ) * 100
    np.testing.assert_allclose(in_order(turned)[0], turned[3])


@pytest.mark.parametrize(
    "points",
    [
        [[0, 0], [100, 0], [100, 100], [60, 40]],
        [[0, 0], [100, 0], [100, 100], [50, 1]],
        [[0, 0], [0, 0], [100, 100], [0, 100]],
        [[0, 0], [100, 0], [100, 100]],
        [[0, 0], [100, 0], [100, np.nan], [0, 100]],
    ],
)
def test_points_that_are_no_corners_are_refused(points):
    with pytest.raises(PanelError, match="not the four corners") as error:
        in_order(np.array(points, float))
    assert error.value.code == "corners_cross"


def blank(width=1000, height=800):
    return Photo(np.full((height, width, 3), 128, np.uint8), camera=Camera(f35_mm=26))


def test_exact_corners_are_taken_as_they_are():
    panel = find_panel(blank(), 300, 200, corners_px=CORNERS[[2, 0, 3, 1]], exact_corners=True)
    np.testing.assert_array_equal(panel.corners_px, CORNERS)
    np.testing.assert_allclose(panel.to_panel(CORNERS[2]), [150, 100], atol=1e-9)
    # A thousandth of 1000 px, at about 2.3 px per mm, twice and a half for the disc.
    assert all(0.5 < u < 2.5 for u in panel.corner_u95_mm)


def test_a_corner_outside_the_picture_is_named():
    with pytest.raises(PanelError, match=r"2000,640 lies outside the picture of 1000 x 800 pixels"):
        find_panel(blank(), 300, 200, corners_px=[[210, 130], [880, 170], [2000, 640], [190, 610]], exact_corners=True)
