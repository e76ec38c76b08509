"""Spokes of unequal length: every second one shorter, only the quarters long, or one that stops early."""

import numpy as np
import pytest

from aligncheck.geometry.angles import outward
from aligncheck.marks import find_marks
from aligncheck.marks.count import Comb
from aligncheck.marks.detect import _reach
from aligncheck.marks.directions import Peaks
from aligncheck.marks.polar import ANGLES, Polar
from tests.marks.layouts import DrawnLayout, even_rings, photograph

ONE_SHORT = (*[1.0] * 11, 0.4)


@pytest.mark.parametrize("lengths", [(1.0, 0.55), (1.0, 0.6, 0.6), (0.7, 0.7, 1.0, 0.7), ONE_SHORT])
def test_every_spoke_keeps_its_own_length(lengths):
    layout = DrawnLayout(12, reach_mm=120.0, lengths=lengths, rings=even_rings(2, 31.0))
    marks = find_marks(*photograph(layout))
    assert marks.segments == 12
    ends = [float(np.hypot(*(s.outer_mm - layout.centre_mm))) for s in marks.spokes]
    assert ends == pytest.approx([layout.reach_of(s.place) for s in marks.spokes], abs=1.5)
    # An end that was read is claimed to tenths of a millimetre, not as "somewhere here".
    assert max(s.along_sd_mm[1] for s in marks.spokes) < 1.0


@pytest.mark.parametrize(("reach_mm", "off_mm"), [(57.2, 0.3), (89.5, 0.8)])
def test_a_spoke_ends_with_its_own_chalk_not_with_a_ring_s(reach_mm, off_mm):
    """Less than two millimetres of bare panel and then a ring; and spokes that end under one."""
    layout = DrawnLayout(12, reach_mm=reach_mm, rings=even_rings(3, 30.0))
    marks = find_marks(*photograph(layout))
    ends = np.array([np.hypot(*(s.outer_mm - layout.centre_mm)) for s in marks.spokes])
    # Strokes are drawn with round ends.
    assert ends == pytest.approx(reach_mm + layout.width_mm / 2, abs=off_mm)


def test_dashed_spokes_end_with_their_last_dash():
    """Gaps are no thinning out of the chalk."""
    rng = np.random.default_rng(5)
    starts = np.arange(10.0, 110.0, 7.0)
    dashes = tuple(
        (tuple(r * u), tuple((r + 4.0) * u), 1.0)
        for u in outward(5.0 + 30.0 * np.arange(12) + rng.normal(scale=0.2, size=12))
        for r in starts
    )
    layout = DrawnLayout(12, skip=frozenset(range(12)), lines=dashes)
    marks = find_marks(*photograph(layout))
    ends = [float(np.hypot(*s.outer_mm)) for s in marks.spokes]
    assert ends == pytest.approx([starts[-1] + 4.0] * 12, abs=1.0)


def test_spokes_that_begin_far_out_are_measured():
    """Drawn about the outer ring only: most of the way out is bare."""
    layout = DrawnLayout(10, inner_mm=94.0, reach_mm=128.0, rings=even_rings(1, 105.0))
    marks = find_marks(*photograph(layout))
    assert [s.place for s in marks.spokes] == list(range(10))
    assert [float(np.hypot(*s.outer_mm)) for s in marks.spokes] == pytest.approx([128.5] * 10, abs=1.0)


def test_the_reach_of_far_out_spokes_is_where_they_end():
    """On a panel without any grain, spokes between 85 and 125 mm."""
    radii = np.linspace(0.5, 150, 300)
    radial = np.zeros((300, ANGLES), np.float32)
    bearings = np.arange(6) * 60.0 + 10
    radial[np.ix_((radii > 85) & (radii < 125), (bearings * ANGLES / 360).astype(int))] = 1.0
    laid_out = Polar(radial, 0 * radial, np.ones(radial.shape, bool), radii)
    peaks = Peaks(bearings, np.zeros(6), np.full(6, 40.0))
    comb = Comb(6, 10.0, np.arange(6), 40.0, 6.0)
    assert _reach(laid_out, peaks, comb, np.zeros(6, bool)) == pytest.approx((125.0, 125.0), abs=1.0)
