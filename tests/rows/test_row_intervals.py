"""How well a row's tips are known in common, where both sides of its petals end in a spoke's chalk."""

import numpy as np
import pytest

from aligncheck.rows.fit import COMMON_SD_MM, RowFit, frame_of
from aligncheck.rows.search import RowShape
from aligncheck.rows.shapes import TERMS
from aligncheck.rows.under import common_sd_mm


def straight_row(half_width_mm: float, between: bool) -> RowFit:
    """Petals with straight sides, 30 mm long."""
    shape = RowShape(between, 60.0, 30.0, half_width_mm, (0.0,) * TERMS)
    one = np.array([0.0, 60.0, half_width_mm, 30.0, -half_width_mm, 30.0, 0.0, 0.0])
    frame = frame_of(np.zeros(2), 12, 0.0, between)
    return RowFit(shape, frame, np.tile(one, (12, 1)), np.ones((12, 2)), np.zeros((12, 8, 8)))


def test_a_tip_on_a_spoke_may_lie_anywhere_in_the_spokes_chalk() -> None:
    """Sides that part by one in five are within a stroke of 1.2 mm for 3 mm: a uniform law over that."""
    expected = np.hypot(COMMON_SD_MM, 3.0 / np.sqrt(12))
    assert common_sd_mm(straight_row(6.0, between=False), 1.2) == pytest.approx(expected, rel=0.1)


def test_wide_petals_and_those_between_spokes_are_known_as_ever() -> None:
    assert common_sd_mm(straight_row(25.0, between=False), 1.2) < 1.4 * COMMON_SD_MM
    assert common_sd_mm(straight_row(6.0, between=True), 1.2) == COMMON_SD_MM
    assert common_sd_mm(straight_row(6.0, between=False), 0.0) == pytest.approx(COMMON_SD_MM, rel=0.02)
