"""The centre mark: crossing lines, a short cross between the spokes, or where the spokes meet."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.geometry.student import widening
from aligncheck.geometry.uncertainty import u95_point
from aligncheck.lens import Lens
from aligncheck.marks import find_marks
from aligncheck.marks.centre import bend_of_crossing
from aligncheck.marks.marks import Line
from aligncheck.marks.meeting import crossing, spokes_meet
from aligncheck.panel import Panel
from aligncheck.panel.panel import nominal_corners
from tests.closeness import assert_within
from tests.marks.layouts import DrawnLayout, even_rings, photograph


def line(start, end, sd=0.01):
    return Line(np.array(start, float), np.array(end, float), sd**2 * np.eye(2))


def test_meeting_point_of_exact_lines():
    """Lines through one point meet there; what they do not say about it is their own spread."""
    lines = [line((3, 4), (3 + np.sin(a), 4 - np.cos(a))) for a in (0.1, 1.3, 2.9, 4.4)]
    met, spread = spokes_meet(lines)
    np.testing.assert_allclose(met.xy_mm, (3, 4), atol=1e-9)
    np.testing.assert_allclose(spread, 0, atol=1e-12)
    assert met.covariance.trace() > 0


def test_meeting_point_is_the_least_squares_point():
    """Against the closed form of two parallel pairs: the middle of each pair."""
    pairs = [line((-0.4, 0), (-0.4, 9)), line((0.8, 0), (0.8, 9)), line((0, 1.0), (9, 1.0)), line((0, 2.0), (9, 2.0))]
    met, spread = spokes_meet(pairs)
    np.testing.assert_allclose(met.xy_mm, (0.2, 1.5), atol=1e-9)
    # Two misses of 0.6 and two of 0.5 mm, four lines, two unknowns, two lines to each direction.
    variance = (2 * 0.6**2 + 2 * 0.5**2) / 2 / 2
    np.testing.assert_allclose(spread, variance * widening(2) ** 2 * np.eye(2), atol=1e-9)


def test_parallel_lines_meet_nowhere():
    """No point is claimed for lines that fix none."""
    assert spokes_meet([line((0, 0), (0, 9)), line((1, 0), (1, 9))]) is None


def test_crossing_carries_both_lines_covariance():
    """A sharp and a blunt line: the crossing is as sharp across each as that line is."""
    point, covariance = crossing(line((-5, 2), (5, 2), 0.01), line((1, -5), (1, 5), 0.1))
    np.testing.assert_allclose(point, (1, 2), atol=1e-12)
    # At the point, between the ends, the two ends' independent errors average.
    assert covariance[1, 1] < 0.01**2 + 1e-12
    assert 0.1**2 / 2 <= covariance[0, 0] <= 0.1**2


@pytest.mark.parametrize(("freedom", "t"), [(1, 12.706), (2, 4.303), (3, 3.182), (5, 2.571), (10, 2.228), (30, 2.042)])
def test_widening_follows_the_table(freedom, t):
    """Student's t, two-sided 95 %, from any table."""
    assert widening(freedom) * 1.959964 == pytest.approx(t, rel=2e-3)


def cross(x, y, arm=6.0):
    """Short arms towards the corners."""
    return (((x - arm, y - arm), (x + arm, y + arm), 1.0), ((x + arm, y - arm), (x - arm, y + arm), 1.0))


def test_short_cross_is_the_centre():
    """The cross is found beside spokes that pass it by tenths of a millimetre, and decides."""
    layout = DrawnLayout(
        10,
        centre_mm=(1.0, -0.7),
        inner_mm=12.0,
        rings=even_rings(6, 14.0),
        lines=cross(1.25, -0.9),
        errors_deg=(0.3, -0.2, 0.25),
    )
    marks = find_marks(*photograph(layout))
    assert marks.centre.source == "mark"
    assert marks.notes == ()
    error = float(np.hypot(*(marks.centre.xy_mm - (1.25, -0.9))))
    assert_within(error, u95_point(marks.centre.covariance), 0.0, at_most=0.15)


def test_whole_diagonals_cross_at_the_centre():
    """Corner-to-corner lines give the centre to hundredths."""
    lines = (((-149.0, -148.0), (148.5, 149.0), 1.0), ((149.0, -149.5), (-149.0, 148.0), 1.0))
    marks = find_marks(*photograph(DrawnLayout(10, rings=even_rings(6, 14.0), lines=lines)))
    (p, q), (r, s) = (np.array(one[:2]) for one in lines)
    k = np.linalg.solve(np.column_stack([q - p, r - s]), r - p)[0]
    assert marks.centre.source == "mark"
    error = float(np.hypot(*(marks.centre.xy_mm - (p + k * (q - p)))))
    assert_within(error, u95_point(marks.centre.covariance), 0.0, at_most=0.05)


def test_a_square_cross_on_a_panel_that_is_not_square():
    """A short cross drawn by itself stands square; on a long panel it does not point to the corners."""
    layout = DrawnLayout(
        10,
        centre_mm=(1.0, -0.7),
        inner_mm=12.0,
        rings=even_rings(6, 14.0),
        lines=cross(1.35, -0.9, arm=4.5),
        errors_deg=(0.3, -0.2, 0.25),
    )
    photo, square = photograph(layout)
    # The same photo of a lower panel: its corners stand at 51 degrees.
    panel = Panel.from_corners(300.0, 240.0, square.lens, square.to_photo(nominal_corners(300.0, 240.0)))
    marks = find_marks(photo, panel)
    assert marks.centre.source == "mark"
    error = float(np.hypot(*(marks.centre.xy_mm - (1.35, -0.9))))
    assert_within(error, u95_point(marks.centre.covariance), 0.0, at_most=0.15)


def test_a_wrong_bend_moves_the_crossing_as_claimed():
    """Diagonals seen beyond the layout through a lens bent wrongly cross elsewhere: by what is claimed for it."""
    corners, wrong_k1 = np.array([[700.0, 420], [3400, 500], [3300, 2900], [800, 2700]]), 0.01
    lens = Lens(3000.0, 2015.5, 1511.5, 0.02, 0.0)
    true = Panel.from_corners(304.8, 304.8, lens, corners)
    found = Panel.from_corners(
        304.8, 304.8, replace(lens, k1=0.02 - wrong_k1), corners, np.diag([0.0] * 8 + [wrong_k1**2, 0.0])
    )
    drawn = [(np.array([-150.0, -149]), np.array([150.0, 151])), (np.array([150.0, -150]), np.array([-149.0, 151]))]
    t = np.concatenate([np.linspace(0, 0.23, 50), np.linspace(0.77, 1, 50)])[:, None]
    seen = []
    for start, end in drawn:
        points = found.to_panel(true.to_photo(start + t * (end - start)))
        middle = points.mean(0)
        along = np.linalg.svd(points - middle)[2][0] * 200
        along *= np.sign(along @ (end - start))
        seen.append(line(middle - along, middle + along))
    point, _ = crossing(*seen)
    centre, _ = crossing(*(line(*ends) for ends in drawn))
    # What the map does to the centre itself is told apart, by the map's own covariance.
    moved = point - found.to_panel(true.to_photo(centre))
    claimed = bend_of_crossing(found, seen, point, [line((0, 0), (0, 115.0))])
    assert np.hypot(*moved) > 0.03
    np.testing.assert_allclose(claimed, np.outer(moved, moved), atol=0.15 * (moved @ moved))


def test_without_a_mark_the_spokes_decide_and_a_note_says_so():
    """No cross: the point where the spokes meet, with a note."""
    marks = find_marks(*photograph(DrawnLayout(12, centre_mm=(2.0, 1.0), inner_mm=30.0, rings=even_rings(6, 14.0))))
    assert marks.centre.source == "spokes"
    assert [note.code for note in marks.notes] == ["centre_hidden"]
    error = float(np.hypot(*(marks.centre.xy_mm - (2.0, 1.0))))
    assert_within(error, u95_point(marks.centre.covariance), 0.0)
