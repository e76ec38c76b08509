"""Spokes of unequal length: every second one shorter, only the quarters long, or one that stops early."""

import numpy as np
import pytest

from aligncheck.geometry.angles import outward
from aligncheck.marks import find_marks
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
