"""Draw on a blank panel and find the strokes again."""

import numpy as np
import pytest

from aligncheck.geometry.angles import bearing, wrap
from aligncheck.overlay import PHONE, PRINT, SCREEN, bare_flat, draw_flat_overlay, draw_overlays
from aligncheck.overlay.colours import BONE, INK, MOVE, PLAN
from aligncheck.overlay.grounds import FlatGround, PhotoGround
from aligncheck.overlay.lane import lane_of
from aligncheck.overlay.scale import BOX_HIGH, SCALE_IN
from aligncheck.overlay.strip import STRIP_HIGH
from aligncheck.panel.flat import FlatView
from aligncheck.photo import Photo
from tests.overlay.made import MadeCheck, even_spokes, level_panel, made_drift

PANEL = level_panel(300.0, 240.0)
BLANK = FlatView(np.full((960, 1200, 3), 60, np.uint8), 4.0, (599.5, 479.5))
MOVES = [0.0, 3.0, 0.0, 0.0, -2.2, 0.0, 0.0]


def drawn(style=SCREEN, width_px=1600, moves=MOVES, rings=()):
    """The overlay on a blank panel, its view and the drift."""
    drift = made_drift(PANEL, even_spokes(7, moves, outer_mm=80.0, turn_deg=11.0), rings)
    ground = FlatGround(BLANK, PANEL, style)
    top = round(STRIP_HIGH * style.unit_px(width_px))
    view = ground.view(width_px, top)
    picture = draw_flat_overlay(BLANK, MadeCheck(drift), style=style, width_px=width_px)
    return picture, view, drift


def coloured(picture, colour, limit=24):
    return np.abs(picture.astype(int) - colour).max(-1) <= limit


def polar(view, mask):
    """Radius in mm and bearing of the marked pixels on the panel."""
    rows, columns = np.nonzero(mask)
    origin = view.to_px([0.0, 0.0])
    scale = view.px_per_mm
    points = (np.column_stack([columns, rows]) - origin) / scale
    return np.hypot(*points.T), bearing(points)


@pytest.mark.parametrize("width_px", [390, 1600])
def test_only_spokes_that_are_off_are_drawn(width_px):
    """The orange lines lie where the bad spokes were drawn, and nowhere else."""
    picture, view, drift = drawn(width_px=width_px)
    rows, columns = np.nonzero(coloured(picture, MOVE))
    points = (np.column_stack([columns, rows]) - view.to_px([0.0, 0.0])) / view.px_per_mm
    for spoke in drift.spokes:
        line = spoke.spoke
        away = (points - line.inner_mm) @ line.across
        along = (points - line.inner_mm) @ (line.outer_mm - line.inner_mm) / line.length_mm
        near = (np.abs(away) < 4) & (along > 30) & (along < 68)
        if spoke.verdict == "out":
            # Half a pixel of the picture.
            assert np.median(away[near]) == pytest.approx(0, abs=0.5 / view.px_per_mm)
        else:
            assert not near.any()


def test_plan_lies_where_the_spoke_belongs():
    """In print every spoke's plan is dashed along its ideal direction."""
    picture, view, drift = drawn(PRINT)
    radius, angle = polar(view, coloured(picture, PLAN))
    for spoke in drift.spokes:
        near = (np.abs(wrap(angle - spoke.ideal_deg)) < 4) & (radius > 20) & (radius < 78)
        assert near.sum() > 100
        assert np.median(wrap(angle[near] - spoke.ideal_deg)) == pytest.approx(0, abs=0.3)


def test_arrows_go_the_way_of_the_move():
    """On the lane, orange lies on the side to which the outer end must go, from the drawn spoke."""
    picture, view, drift = drawn()
    lane_mm = float(lane_of(view, drift).radius_mm(0.0))
    radius, angle = polar(view, coloured(picture, MOVE))
    on_lane = np.abs(radius - lane_mm) < view.mm(2.0)
    for spoke in (s for s in drift.spokes if s.verdict == "out"):
        end = float(bearing(spoke.spoke.outer_mm))
        away = wrap(angle[on_lane] - end)
        mean = float(np.mean(away[np.abs(away) < 25]))
        assert np.sign(mean) == np.sign(spoke.move_mm)


def test_beads_mark_what_fits():
    """Beyond each spoke that fits lies a bead of bone; beyond the others none."""
    picture, view, drift = drawn()
    lane = lane_of(view, drift)
    for spoke in drift.spokes:
        x, y = np.round(view.to_px(lane.point_mm(bearing(spoke.spoke.outer_mm)))).astype(int)
        assert coloured(picture, BONE)[y, x] == (spoke.verdict == "within")


def test_a_ring_that_is_off_is_drawn_round():
    """The drawn ring is orange all around."""
    picture, view, _ = drawn(moves=[0.0] * 7, rings=[((0.0, 0.0), 20.0, 20.0), ((0.0, 0.0), 42.0, 37.0)])
    radius, angle = polar(view, coloured(picture, MOVE))
    on_ring = np.abs(radius - 42.0) < 1.5
    assert np.median(radius[on_ring]) == pytest.approx(42.0, abs=0.15)
    # Dashes of the plan and one arrow may hide a little of it.
    assert len(np.unique(angle[on_ring] // 5)) > 60
    assert not (np.abs(radius - 20.0) < 1.5).any()


def test_scale_is_true():
    """The five boxes of the scale, bone and ink in turn, span 50 mm of the panel."""
    picture, view, _ = drawn(PRINT, moves=[0.0] * 7)
    low = PANEL.height_mm / 2 - view.mm(SCALE_IN + BOX_HIGH / 2)
    row = picture[round(float(view.to_px([0.0, low])[1]))]
    left = round(float(view.to_px([-PANEL.width_mm / 2, low])[0])) + round(2 * view.q)
    # The panel is grey: where it is neither, the scale or its plate begins and ends.
    other = np.flatnonzero(coloured(row, BONE) | coloured(row, INK))
    other = other[(other > left) & (other < picture.shape[1] // 2)]
    first = other[0]
    bone = np.flatnonzero(coloured(row, BONE)[first : first + round(50 * view.px_per_mm) + 8])
    # Bone, ink, bone, ink, bone: it begins and ends with bone, inside the rims.
    assert (bone[-1] - bone[0]) / view.px_per_mm == pytest.approx(50.0, abs=3 * view.q / view.px_per_mm)


@pytest.mark.parametrize("longest", [390, 900, 2400])
def test_pictures_keep_within_their_size(longest):
    """No side of any picture is longer than asked for, and the flat view shows the panel alone."""
    photo = Photo(np.full((1300, 1500, 3), 70, np.uint8))
    drift = made_drift(PANEL, even_spokes(7, MOVES, outer_mm=80.0))
    made = draw_overlays(photo, MadeCheck(drift), longest)
    for picture in (made.photo_overlay, made.flat, made.flat_overlay):
        assert picture.dtype == np.uint8
        assert max(picture.shape) <= longest
    height, width = made.flat.shape[:2]
    assert width / height == pytest.approx(300 / 240, rel=0.01)


def test_the_photo_is_not_drawn_upon():
    """Drawing leaves the photo's own pixels alone."""
    pixels = np.full((1300, 1500, 3), 70, np.uint8)
    drift = made_drift(PANEL, even_spokes(7, MOVES, outer_mm=80.0))
    made = draw_overlays(Photo(pixels), MadeCheck(drift))
    assert (pixels == 70).all()
    assert (made.flat == 70).all()


def test_a_flat_view_begun_before_is_drawn_upon_and_not_made_anew():
    drift = made_drift(PANEL, even_spokes(7, MOVES, outer_mm=80.0))
    begun = bare_flat(Photo(np.full((1300, 1500, 3), 160, np.uint8)), PANEL)
    made = draw_overlays(Photo(np.full((1300, 1500, 3), 90, np.uint8)), MadeCheck(drift), begun=lambda: begun)
    assert made.flat is begun.image
    assert coloured(made.flat_overlay, (160, 160, 160)).mean() > 0.3


def test_the_table_is_darkened_and_the_panel_is_not():
    """Outside the panel 38 % of the photo is left, on ink; inside all of it."""
    photo = Photo(np.full((1300, 1500, 3), 200, np.uint8))
    drift = made_drift(PANEL, even_spokes(7, [0.0] * 7, outer_mm=80.0))
    picture = draw_overlays(photo, MadeCheck(drift)).photo_overlay
    middle = picture[picture.shape[0] // 2]
    assert (middle[len(middle) // 5] == 200).all()
    # The panel and its gutters take 300 mm + 2 x 44 q, so the table is seen just left of the panel.
    left = round(44 * SCREEN.unit_px(len(middle)))
    assert middle[left - 20] == pytest.approx([89, 88, 85], abs=1)


def test_text_grows_with_the_picture():
    """One unit is one pixel at the width of a phone; in print it grows more slowly than the picture."""
    assert PHONE.unit_px(390) == PRINT.unit_px(390) == 1.0
    assert PRINT.unit_px(2400) == pytest.approx(3.9, abs=0.02)
    assert PHONE.unit_px(1170) == pytest.approx(3.0)


@pytest.mark.parametrize("width_px", [700, 1600])
@pytest.mark.parametrize("spare_px", [3, 400])
def test_what_is_drawn_lies_where_the_photo_shows_it(width_px: int, spare_px: int) -> None:
    """Also where the picture ends close beside the panel and ink stands for what it does not hold."""
    right, below = np.ceil(PANEL.corners_px.max(0)).astype(int) + spare_px
    pixels = np.full((below, right, 3), 70, np.uint8)
    x, y = np.rint(PANEL.to_photo([70.0, 50.0])).astype(int)
    pixels[y - 9 : y + 10, x - 9 : x + 10] = 250
    ground = PhotoGround(Photo(pixels), PANEL, SCREEN)
    picture, view = ground.page(width_px), ground.view(width_px)
    rows, columns = np.nonzero(picture[..., 0] > 160)
    wanted = view.to_px(PANEL.to_panel([x, y]))
    np.testing.assert_allclose([columns.mean(), rows.mean()], wanted, atol=0.3)
    assert (picture[-1, -1] == INK).all() == (spare_px == 3)
