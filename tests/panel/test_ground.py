"""Whether a side is a line drawn on the panel: each case a picture of an outline whose answer is known."""

import numpy as np
import pytest

from aligncheck.panel.border import lines_outside
from aligncheck.panel.ground import ground_beyond_sides
from aligncheck.panel.segments import Lines
from tests.panel.layers import CHALK, OUTWARD_MM, PANEL, PENCIL, PX_PER_MM, SIZE_PX, TABLE, outline, pictured


def fading(darkest: float, over_mm: float) -> np.ndarray:
    """A shadow that begins at the sides and fades outward."""
    return 1 - darkest * np.exp(-np.maximum(OUTWARD_MM, 0) / over_mm) * (OUTWARD_MM > 0)


@pytest.mark.parametrize("gap_mm", [1.2, 3.0, 12.0])
@pytest.mark.parametrize("from_mm", [-1.2, -0.5, 0.0])
def test_chalk_with_the_panel_beyond_it_is_a_line_wherever_in_it_the_outline_was_fitted(from_mm, gap_mm):
    end = from_mm + 1.2
    picture = pictured((-99, PANEL), (from_mm, CHALK), (end, PANEL), (end + gap_mm, TABLE))
    assert ground_beyond_sides(picture, outline()) == pytest.approx((end,) * 4, abs=0.5)


def test_pencil_on_a_light_board_is_a_line():
    picture = pictured((-99, (196, 172, 130)), (-0.4, PENCIL), (0.4, (196, 172, 130)), (4.0, (90, 92, 95)))
    assert None not in ground_beyond_sides(picture, outline())


@pytest.mark.parametrize(
    ("what", "picture"),
    [
        ("a side on a table", pictured((-99, PANEL), (0, TABLE))),
        ("a side with a raw edge", pictured((-99, PANEL), (0, CHALK), (1.5, TABLE))),
        ("the inner edge of a painted border", pictured((-99, PANEL), (0, (150, 40, 40)), (6.0, TABLE))),
        ("a gap before a table nearly the panel's colour", pictured((-99, PANEL), (0, (5, 5, 5)), (1.0, (37, 69, 53)))),
        ("a shadow on a table of the panel's colour", pictured((-99, PANEL), (0, PANEL), shade=fading(0.5, 1.0))),
        ("nothing at all", pictured((-99, PANEL))),
    ],
)
def test_a_side_is_no_line(what, picture):
    assert ground_beyond_sides(picture, outline()) == (None,) * 4, what


def test_a_lamps_falling_light_does_not_hide_that_the_ground_goes_on():
    """A lamp half a metre off: a hundredth of the light over each 3 mm."""
    across = (np.mgrid[:SIZE_PX, :SIZE_PX][1] - SIZE_PX / 2) / PX_PER_MM
    picture = pictured((-99, PANEL), (-0.5, CHALK), (0.7, PANEL), (5.0, TABLE), shade=1 + across / 300)
    assert None not in ground_beyond_sides(picture, outline())


@pytest.mark.parametrize(("rho", "beside"), [(210.0, True), (201.0, False), (240.0, False), (190.0, False)])
def test_a_line_close_outside_a_side_calls_for_a_look(rho, beside):
    corners = np.array([[100.0, 100], [500, 100], [500, 500], [100, 500]])
    pool = Lines(np.array([[1.0, 0.0]]), np.array([rho]), np.ones(1))
    assert lines_outside(corners, pool, (300.0, 300.0)) is beside
