"""A centre marked by a dot, a prick or a hole; what is no dot."""

import cv2
import numpy as np
import pytest

from aligncheck.marks import find_marks
from aligncheck.photo import Photo
from tests.marks.layouts import PX_PER_MM, DrawnLayout, even_rings, photograph

LAYOUT = DrawnLayout(12, centre_mm=(2.0, -1.5), rings=even_rings(4, 24.0))


def spotted(spots, layout=LAYOUT):
    """The photo of `layout` with filled circles (x, y and diameter in mm from its centre, shade), and its panel."""
    photo, panel = photograph(layout)
    pixels = photo.rgb.copy()
    for x, y, width, shade in spots:
        at = panel.to_photo([np.asarray(layout.centre_mm) + (x, y)])[0]
        fixed = tuple(int(v) for v in np.rint(at * 64))
        cv2.circle(pixels, fixed, round(width / 2 * PX_PER_MM * 64), (shade,) * 3, -1, cv2.LINE_AA, 6)
    return Photo(pixels), panel


@pytest.mark.parametrize(("width", "shade"), [(1.6, 200), (3.0, 200), (0.8, 5), (4.0, 5)])
def test_a_dot_is_the_mark_wherever_the_spokes_meet(width, shade):
    """Light or dark, 0.4 mm off the point that the spokes share."""
    marks = find_marks(*spotted([(0.4, -0.2, width, shade)]))
    assert marks.centre.source == "mark"
    np.testing.assert_allclose(marks.centre.xy_mm, np.asarray(LAYOUT.centre_mm) + (0.4, -0.2), atol=0.06)
    assert np.sqrt(marks.centre.covariance.trace()) < 0.15


@pytest.mark.parametrize(
    "spots",
    [
        pytest.param([(0.3, 0.2, 0.5, 200)], id="a crumb of chalk"),
        pytest.param([(-0.6, 0.0, 1.4, 200), (0.6, 0.3, 1.4, 5)], id="two dots"),
        pytest.param([(-0.6, 0.1, 1.2, 200), (0.2, 0.1, 1.2, 200), (1.0, 0.1, 1.2, 200)], id="a dash"),
    ],
)
def test_what_is_no_dot_is_no_mark(spots):
    marks = find_marks(*spotted(spots))
    assert marks.centre.source == "spokes"
