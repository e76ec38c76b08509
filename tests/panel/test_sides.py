"""Sides fitted at full resolution, against panels drawn with a known camera."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from aligncheck.panel.kind import DEEP_MM
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.sides import fit_sides
from tests.panel.drawn import (
    FOCAL_PX,
    Pose,
    as_photo,
    codes,
    corner_errors_mm,
    inside_share,
    photo_of,
    rough,
    true_panel,
)

#: Drawn edges are sharp: a panel without thickness has no rounding to allow for.
SHARP = 0.0


@pytest.fixture(scope="module")
def plain():
    """The usual panel and its photo, drawn once."""
    panel = true_panel()
    return panel, photo_of(panel)


POSES = [Pose(), Pose(turn_deg=41, tilt_deg=5), Pose(turn_deg=-12, tilt_deg=28, azimuth_deg=200, distance_mm=560)]


@pytest.mark.parametrize("pose", POSES)
def test_corners_are_found_within_their_claim(pose):
    panel = true_panel(pose)
    fit = fit_sides(photo_of(panel), rough(panel), 300, 260, depth_mm=SHARP)
    errors = corner_errors_mm(fit.corners_px, panel)
    claimed = np.array(fit.panel(300, 260).corner_u95_mm)
    # Four corners at 95 %: one may lie a little outside, none by half as much again.
    assert (errors < 1.5 * claimed).all()
    # A clean edge at 3 px/mm is found to a tenth of a pixel: 0.03 mm.
    assert np.sqrt((errors**2).mean()) < 0.03
    assert claimed.max() < 0.3
    assert fit.has_step.all()


def test_bend_is_found_and_without_it_the_corners_would_be_off():
    panel = true_panel(k1=-0.035)
    fit = fit_sides(photo_of(panel), rough(panel), 300, 260, depth_mm=SHARP)
    # The ends of this frame reach r = 0.8: 0.004 there is 1.5 px.
    assert fit.lens.k1 + 0.45 * fit.lens.k2 == pytest.approx(-0.035, abs=0.006)
    straight = fit_sides(photo_of(panel), rough(panel), 300, 260, lens=replace(panel.lens, k1=0.0), depth_mm=SHARP)
    assert corner_errors_mm(straight.corners_px, panel).max() > 5 * corner_errors_mm(fit.corners_px, panel).max()


def test_profile_is_kept(plain):
    panel, photo = plain
    fit = fit_sides(photo, rough(panel), 300, 260, lens=panel.lens, depth_mm=SHARP)
    assert fit.lens.source == "profile"
    assert fit.lens.k1 == pytest.approx(panel.lens.k1, abs=0.003)
    assert fit.lens.focal_px == pytest.approx(FOCAL_PX, rel=0.003)
    free = fit_sides(photo, rough(panel), 300, 260, depth_mm=SHARP)
    # What is known need not be fitted: the bend's variance shrinks.
    assert fit.covariance[8, 8] < free.covariance[8, 8]


def test_profile_with_tied_bend_terms_is_held_to_what_it_knows(plain):
    # k1 and k2 of a board fit are each loose and together tight: 0.02 and 0.04, tied at r^2 = 0.5.
    panel, photo = plain
    loose = np.array([0.02, -0.04])
    covariance = np.diag([4.0, 4.0, 4.0, 1e-8, 1e-8])
    covariance[3:, 3:] += np.outer(loose, loose)
    # The profile is off along the tie, by one standard deviation.
    lens = replace(panel.lens, k1=0.05, k2=-0.04, covariance=covariance)
    fit = fit_sides(photo, rough(panel), 300, 260, lens=lens, depth_mm=SHARP)
    assert fit.lens.k2 == pytest.approx(-2 * (fit.lens.k1 - 0.03), abs=0.003)
    assert corner_errors_mm(fit.corners_px, panel).max() < 0.1


def test_focal_length_follows_from_the_shape_where_exif_is_missing():
    panel = true_panel(Pose(tilt_deg=28, azimuth_deg=75))
    fit = fit_sides(photo_of(panel, exif=False), rough(panel), 300, 260, depth_mm=SHARP)
    assert fit.lens.focal_px == pytest.approx(FOCAL_PX, rel=0.05)
    assert corner_errors_mm(fit.corners_px, panel).max() < 0.1


def test_edge_of_a_shadow_outside_does_not_take_a_side():
    # Nearly black face, dark brown shadow 3 mm wide (8 px), bright table: the outer edge is three times stronger.
    panel = true_panel()
    face, shadow, table = (np.array(c) for c in ((0.02, 0.02, 0.02), (0.08, 0.06, 0.035), (0.32, 0.26, 0.18)))
    inner, outer = inside_share(panel)[..., None], inside_share(panel, grow_mm=3.0)[..., None]
    photo = as_photo(codes(inner * face + (outer - inner) * shadow + (1 - outer) * table))
    fit = fit_sides(photo, rough(panel), 300, 260, depth_mm=SHARP)
    assert corner_errors_mm(fit.corners_px, panel).max() < 0.3


def test_tight_search_stays_with_the_near_edge():
    # A sheet 5 mm larger all round (16 px), paler than the panel, on a dark table: its edge is far stronger.
    panel = true_panel()
    inner, outer = inside_share(panel)[..., None], inside_share(panel, grow_mm=5.0)[..., None]
    face, sheet, table = (np.array(c) for c in ((0.5, 0.48, 0.42), (0.6, 0.6, 0.58), (0.03, 0.03, 0.03)))
    photo = as_photo(codes(inner * face + (outer - inner) * sheet + (1 - outer) * table))
    fit = fit_sides(photo, rough(panel, most_px=2.0), 300, 260, depth_mm=SHARP, tight=True)
    assert corner_errors_mm(fit.corners_px, panel).max() < 0.1


def test_side_that_does_not_show_is_said_to_be_unsure():
    panel = true_panel()
    share = inside_share(panel)[..., None]
    face, table = np.array([0.2, 0.2, 0.2]), np.broadcast_to([0.4, 0.4, 0.4], (*share.shape[:2], 3)).copy()
    # To the right of the middle the table is as grey as the panel.
    table[:, share.shape[1] // 2 :] = face
    fit = fit_sides(as_photo(codes(share * face + (1 - share) * table)), rough(panel), 300, 260, depth_mm=SHARP)
    assert not fit.has_step[1]
    claimed = np.array(fit.panel(300, 260).corner_u95_mm)
    # Corners: top left, top right, bottom right, bottom left; the right side carries the two in the middle. Top and
    # bottom show over half their length, which is enough for the others.
    assert claimed[1:3].min() > 4 * claimed[[0, 3]].max()
    assert fit.has_step[[0, 2, 3]].all()
    assert (corner_errors_mm(fit.corners_px, panel) < claimed).all()


def test_side_that_differs_in_colour_alone_is_found():
    # Blue and orange of the same luminance; the table's grain changes its light by a tenth, not its colour.
    rng = np.random.default_rng(2)
    panel = true_panel()
    share = inside_share(panel)[..., None]
    face, table = np.array([0.10, 0.16, 0.50]), np.array([0.34, 0.105, 0.035])
    grain = 1 + 0.1 * cv2.GaussianBlur(rng.normal(0, 4, share.shape[:2]), (0, 0), 2.0)[..., None]
    luminance = np.array([0.2126, 0.7152, 0.0722])
    table = table * (face @ luminance) / (table @ luminance)
    fit = fit_sides(as_photo(codes(share * face + (1 - share) * table * grain)), rough(panel), 300, 260, depth_mm=SHARP)
    errors = corner_errors_mm(fit.corners_px, panel)
    # Two thirds of a pixel, where luminance alone sees nothing but grain.
    assert errors.max() < 0.25
    assert fit.strength.min() > 15
    assert (errors < 1.5 * np.array(fit.panel(300, 260).corner_u95_mm)).all()


def test_mirrored_photo_gives_mirrored_corners(plain):
    panel, photo = plain
    start = rough(panel)
    fit = fit_sides(photo, start, 300, 260)
    turned = replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, ::-1]))
    width = photo.width_px - 1
    mirrored_start = (np.array([width, 0]) + start * [-1, 1])[[1, 0, 3, 2]]
    mirrored = fit_sides(turned, mirrored_start, 300, 260)
    back = (np.array([width, 0]) + mirrored.corners_px * [-1, 1])[[1, 0, 3, 2]]
    # Only the order of sums differs, and which pixels the starting lines cross.
    assert np.abs(back - fit.corners_px).max() < 0.05


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_where_the_search_began_does_not_matter(plain, seed):
    panel, photo = plain
    first = fit_sides(photo, rough(panel), 300, 260)
    again = fit_sides(photo, rough(panel) + np.random.default_rng(seed).uniform(-2, 2, (4, 2)), 300, 260)
    assert np.abs(again.corners_px - first.corners_px).max() < 0.05


def test_rounded_edges_move_the_sides_outwards(plain):
    panel, photo = plain
    sharp = fit_sides(photo, rough(panel), 300, 260, depth_mm=SHARP).corners_px
    # A board, as the sharp one: a canvas may bow, too, and that tells lens and sides apart differently.
    thick = fit_sides(photo, rough(panel), 300, 260, depth_mm=DEEP_MM - 1).corners_px
    outward = np.sign(nominal_corners(300, 260))
    moved = panel.to_panel(thick) - panel.to_panel(sharp)
    assert (moved * outward > 0).all()
    assert np.abs(moved).max() < 0.35


def test_noise_widens_the_claim(plain):
    panel, photo = plain
    calm = fit_sides(photo, rough(panel), 300, 260, depth_mm=SHARP)
    loud = fit_sides(photo_of(panel, noise=0.16, seed=5), rough(panel), 300, 260, depth_mm=SHARP)
    assert loud.largest_u95_mm > 1.1 * calm.largest_u95_mm
    assert (corner_errors_mm(loud.corners_px, panel) < 1.5 * loud.largest_u95_mm).all()
