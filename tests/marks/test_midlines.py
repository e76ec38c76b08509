"""Mid-lines across the panel under and beside the spokes: construction, never taken for spokes."""

import numpy as np
import pytest

from aligncheck.geometry.angles import bearing, outward, wrap
from aligncheck.marks import find_marks
from aligncheck.marks.detect import detect
from tests.marks.layouts import DrawnLayout, even_rings, photograph

#: From side to side, drawn by hand: a little off the panel's middle and a little turned.
DOWN = ((0.4, -148.0), (-0.3, 148.0), 1.0)
ACROSS = ((-148.0, 0.5), (148.0, 0.2), 1.0)


def layout(phase_deg=0.0, errors=(0.0,), lines=(DOWN, ACROSS), **more) -> DrawnLayout:
    return DrawnLayout(
        12, phase_deg=phase_deg, errors_deg=errors, reach_mm=115.0, rings=even_rings(4, 25.0), lines=lines, **more
    )


def test_both_are_found_and_measured():
    found = detect(*photograph(layout(phase_deg=7.0))).midlines
    assert len(found) == 2
    for line, (start, end, _) in zip(found, (DOWN, ACROSS), strict=True):
        for drawn in (start, end):
            assert abs((np.array(drawn) - line.inner_mm) @ line.across) < 0.15


@pytest.mark.parametrize("lengths", [(1.0,), (1.17, 1.0, 1.0)])
def test_spokes_along_them_are_none(lengths):
    """Also not the quarters where they are drawn longer than the others, if they stop short of the sides."""
    found = detect(*photograph(layout(lines=(), lengths=lengths)))
    assert found.midlines == ()
    assert found.outermost_mm == pytest.approx(115.0 * max(lengths), abs=3.0)


def test_a_spoke_that_is_off_is_told_from_the_midline_beside_it():
    """2.4 mm off at the outer end: the mid-line is longer and stands where the spoke should."""
    errors = (1.2, 0.1, -0.1, -1.2, 0.1, 0.0, 0.0, -0.1, 0.1, 0.0, 0.0, 0.1)
    drawn = layout(errors=errors)
    marks = find_marks(*photograph(drawn))
    assert marks.segments == 12
    assert len(marks.spokes) == 12
    for k, error in enumerate(errors):
        end = drawn.reach_mm * outward(30.0 * k + error)
        spoke = min(marks.spokes, key=lambda s: abs(wrap(s.angle_deg - bearing(end))))
        assert abs((end - spoke.inner_mm) @ spoke.across) < 0.4
        assert abs(np.hypot(*spoke.outer_mm) - drawn.reach_mm) < 5.0
