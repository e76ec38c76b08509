"""The parts that a reach is made of, each against what it must do by definition."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from aligncheck.centrepiece.arrangement import arrangement_of
from aligncheck.centrepiece.outline import centroid, even, normals, signed_area
from aligncheck.centrepiece.plan import plan_of, seen_at
from aligncheck.centrepiece.reach import Reach, ring_fit, true_reach
from aligncheck.centrepiece.sampling import sample
from aligncheck.centrepiece.segment import without_slits
from aligncheck.centrepiece.several import Silhouette, common_heights
from aligncheck.drift import Drift
from aligncheck.geometry.angles import outward
from tests.centrepiece.scenes import photo_and_drift, taken

CIRCLE = 30.0 * outward(np.arange(0.0, 360.0, 1.0))


@pytest.fixture(scope="module")
def drift() -> Drift:
    return photo_and_drift(taken(1, ()))[1]


def test_parallax_is_that_of_an_independent_camera(drift: Drift) -> None:
    """A point at height h is seen on the face where cv2.projectPoints sees it through the same camera."""
    panel = drift.marks.panel
    lens = panel.lens
    matrix = np.array([[lens.focal_px, 0, lens.cx_px], [0, lens.focal_px, lens.cy_px], [0, 0, 1]])
    bend = np.array([lens.k1, lens.k2, 0, 0])
    face = np.array([[x, y, 0.0] for x in (-90, 0, 90) for y in (-70, 10, 80)])
    pixels = panel.to_photo(face[:, :2])
    _, turn, shift = cv2.solvePnP(face, pixels, matrix, bend)
    # x right, y down, and away from the viewer: a height above the face is a negative third coordinate.
    raised = np.array([[30.0, -20.0, -6.0], [-45.0, 12.0, -6.0], [5.0, 50.0, -6.0]])
    expected = panel.to_panel(cv2.projectPoints(raised, turn, shift, matrix, bend)[0][:, 0])
    seen = seen_at(raised[:, :2], panel.camera_position_mm, 6.0)
    np.testing.assert_allclose(seen, expected, atol=0.02)  # the pose is fitted to pixels of 1e-6
    np.testing.assert_allclose(plan_of(seen, panel.camera_position_mm, 6.0), raised[:, :2], atol=1e-9)


def ring_at(drift: Drift, radius_mm: float):
    return min(drift.rings, key=lambda r: abs(r.radius_mm - radius_mm))


def test_ring_that_contains_the_reach(drift: Drift) -> None:
    """The smallest ring beyond the reach, with the room that is left."""
    ring = ring_at(drift, 38.1)
    fit = ring_fit(Reach(ring.radius_mm - 3.0, 1.0, 0.0), drift)
    assert fit.ring == ring.number
    assert fit.spare_mm == pytest.approx(3.0)


def test_ring_within_the_interval_is_too_close_to_say(drift: Drift) -> None:
    """No number where a ring's radius lies in the interval, from either side."""
    ring = ring_at(drift, 38.1)
    for off in (-0.9, 0.9):
        fit = ring_fit(Reach(ring.radius_mm + off, 1.0, 0.0), drift)
        assert (fit.ring, fit.near) == (None, ring.number)


def test_rings_that_were_not_seen_count_where_the_spacing_puts_them(drift: Drift) -> None:
    """A ring missing from the list may contain the reach: then no number is claimed."""
    ring = ring_at(drift, 38.1)
    hidden = replace(drift, rings=tuple(r for r in drift.rings if r is not ring))
    assert ring_fit(Reach(ring.radius_mm - 4.0, 1.0, 0.0), hidden).ring is None
    assert ring_fit(Reach(ring.radius_mm + 4.0, 1.0, 0.0), hidden).ring == ring.number + 1


def test_past_all_rings(drift: Drift) -> None:
    """Beyond the outermost ring that one is named."""
    fit = ring_fit(Reach(120.0, 1.0, 0.0), drift)
    assert (fit.ring, fit.past) == (None, max(r.number for r in drift.rings))


def test_without_rings_nothing_is_said(drift: Drift) -> None:
    fit = ring_fit(Reach(30.0, 1.0, 0.0), replace(drift, rings=()))
    assert (fit.ring, fit.near, fit.past) == (None, None, None)


def test_unknown_height_holds_both_extremes(drift: Drift) -> None:
    """The interval for 0 to 12 mm holds 95 % of the range between the reaches at its ends."""
    camera = drift.marks.panel.camera_position_mm
    free = true_reach(CIRCLE, drift, (0.0, 12.0), 0.5)
    for height in (0.3, 11.7):
        reach = np.hypot(*(plan_of(CIRCLE, camera, height) - drift.centre_mm).T).max()
        assert abs(free.mm - reach) < free.u95_mm


def test_two_views_find_the_height() -> None:
    """Silhouettes of a disc 6 mm up from two sides agree at 6 mm."""
    cameras = [np.array([-150.0, 60.0, 420.0]), np.array([140.0, -20.0, 400.0])]
    views = [Silhouette(seen_at(CIRCLE, c, 6.0), c) for c in cameras]
    low, high = common_heights(views, (0.0, 12.0))
    assert low <= 6.0 <= high
    assert high - low < 3.0


def test_one_view_leaves_the_height_open() -> None:
    assert common_heights([Silhouette(CIRCLE, np.array([0.0, 0.0, 400.0]))], (0.0, 12.0)) == (0.0, 12.0)


def test_a_round_piece_has_no_turn(drift: Drift) -> None:
    """A circle repeats in no way that tells a turn."""
    own = arrangement_of(CIRCLE + drift.centre_mm, drift, (0.0, 0.0))
    assert own.off_centre_mm == pytest.approx((0.0, 0.0), abs=0.05)
    assert own.turn_deg is None or own.turn_u95_deg is None or own.turn_u95_deg > 3


def test_outline_helpers_on_a_circle() -> None:
    """Area, middle, normals and spacing by their closed forms."""
    path = even(CIRCLE + (3.0, -4.0), 0.2)
    assert signed_area(path) == pytest.approx(np.pi * 30**2, rel=2e-3)
    np.testing.assert_allclose(centroid(path), (3.0, -4.0), atol=0.01)
    out = path - (3.0, -4.0)
    assert ((normals(path) * out).sum(1) / np.hypot(*out.T)).min() > 0.999


def test_sampling_beyond_opencvs_limit_on_columns() -> None:
    """More points than OpenCV takes in a row, and a single one, give the ramp's own values."""
    image = np.arange(50, dtype=np.float32)[None].repeat(4, 0)
    points = np.column_stack([np.linspace(0, 49, 40000), np.full(40000, 1.5)])
    np.testing.assert_allclose(sample(image, points), points[:, 0], atol=0.04)  # a 32nd of a pixel
    assert sample(image, np.array([7.0, 2.0])) == pytest.approx(7.0)


def test_narrow_cuts_are_closed_and_corners_are_not() -> None:
    """The shade of one petal on the next is no edge; the sharp corner between two petals is one."""
    mask = np.zeros((200, 200), bool)
    mask[40:160, 40:160] = True
    slit = mask.copy()
    slit[98:102, 40:100] = False
    assert (without_slits(slit, 5.0) != mask).sum() < 8  # the mouth stays a little rounded
    corner = mask.copy()
    for k in range(60):
        corner[100 - k : 100 + k, 100 - k] = False
    assert (without_slits(corner, 5.0) == corner).all()


def test_an_upright_edge_shows_its_foot_on_the_cameras_side(drift: Drift) -> None:
    """The silhouette of a plate 9 mm thick: its top away from the camera, its foot towards it; the interval holds."""
    plan = even(np.array(CIRCLE), 0.5)
    camera = drift.marks.panel.camera_position_mm
    top = seen_at(plan, camera, 9.0)
    seen = np.where((np.hypot(*top.T) > np.hypot(*plan.T))[:, None], top, plan)
    free = true_reach(seen, drift, (0.0, 12.0), 0.1)
    reach = float(np.hypot(*(plan - drift.centre_mm).T).max())
    assert abs(free.mm - reach) <= free.u95_mm
