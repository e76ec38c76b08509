"""Traced rows: sides meet in the tip that the truth tells, and what lies under another petal is not drawn."""

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from tests.render import by_hand
from tests.render.tracing import Outline, TracedRow, half_width, traced, widest_at


@pytest.mark.parametrize("outline", get_args(Outline))
def test_sides_meet_in_the_tip_and_are_widest_by_one(outline: Outline) -> None:
    s = np.linspace(0, 1, 2001)
    wide = half_width(outline, s)
    assert wide.max() == pytest.approx(1.0, abs=0.01)
    assert wide[-1] == pytest.approx(0.0, abs=1e-6)
    assert s[wide.argmax()] == pytest.approx(widest_at(outline), abs=0.01)
    row = TracedRow(False, 20.0, 70.0, outline, short=(3, 6.0))
    for petal in traced(by_hand(1), (row,), 1).petals:
        ends = [side[-1] for side in petal.sides_mm]
        np.testing.assert_allclose(ends, [petal.tip_mm] * 2, atol=1e-6)
        assert petal.short == (petal.spoke == 3)


def test_a_row_under_another_shows_only_what_sticks_out() -> None:
    inner, outer = TracedRow(False, 15.0, 60.0, "arch", 0.9), TracedRow(True, 40.0, 90.0)
    whole = traced(by_hand(1), (inner, outer), 1).petals[12:]
    under = traced(by_hand(1), (inner, replace(outer, under=True)), 1).petals[12:]

    def drawn(petals: tuple) -> int:
        return sum(len(run) for petal in petals for run in petal.paths())

    assert 0.3 * drawn(whole) < drawn(under) < 0.95 * drawn(whole)
    # The tip is always drawn.
    assert all(np.hypot(*(petal.paths()[-1][-1] - petal.tip_mm)) < 1e-6 for petal in under)
