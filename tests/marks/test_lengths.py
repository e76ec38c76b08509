"""Spokes of unequal length: every second one shorter, only the quarters long, or one that stops early."""

import numpy as np
import pytest

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
