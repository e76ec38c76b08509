"""The parts of the side fit, each against what it must be by definition or by an independent routine."""

import cv2
import numpy as np
import pytest
from scipy.special import ndtr

from aligncheck.lens import Lens
from aligncheck.panel.colour_channels import log_channels
from aligncheck.panel.covariance import corner_directions, scatter_of_blocks
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.rounded import SHADED, px_per_mm_across, rounding
from aligncheck.panel.shape import shape_residuals
from aligncheck.panel.step_filter import StepFilter
from aligncheck.panel.strips import read_strip, side_between
from tests.panel.drawn import Pose, true_panel


def test_step_filter_reads_the_height_and_ignores_shading():
    step = StepFilter.design(1.2, 4.0, 1.0)
    x = np.arange(-30.0, 31.0)
    edge = 0.7 * ndtr(x / 1.2)
    shading = 3 + 0.05 * x + 0.2 * np.maximum(x, 0)
    heights = step.heights(np.stack([edge, edge + shading])[..., None].astype(np.float32))[:, 30, 0]
    assert heights == pytest.approx(0.7, abs=1e-4)


def test_side_between_points_out_of_the_panel_and_bends():
    lens = Lens(1000.0, 500.0, 400.0, k1=0.05)
    top = side_between(np.array([100.0, 100.0]), np.array([900.0, 100.0]), lens, np.linspace(0, 1, 5))
    assert top.points_px[[0, -1]] == pytest.approx(np.array([[100, 100], [900, 100]]))
    assert (top.outward[:, 1] < -0.9).all()
    # k1 > 0 (pincushion): lines bend towards the middle of the picture.
    assert top.points_px[2, 1] > 101


def test_strip_is_read_in_linear_light_and_knows_where_the_photo_ends():
    rgb = np.zeros((40, 60, 3), np.uint8)
    rgb[20:] = 188
    side = side_between(np.array([50.0, 20.0]), np.array([10.0, 20.0]), Lens(100.0, 30, 20), np.array([0.5]))
    strip = read_strip(rgb, side, np.array([-1.0, -0.5, 3.0, 25.0]))
    # sRGB 188 is half of full light; half way between two pixels light, not codes, is averaged.
    assert strip[0, :3, 0] == pytest.approx([0.0, 0.2514, 0.5028], abs=1e-3)
    assert np.isnan(strip[0, 3]).all()


def test_log_channels_are_blind_to_the_strength_of_light_except_the_first():
    light = np.array([[0.3, 0.2, 0.1]], np.float32) * np.array([[1.0], [3.0]], np.float32)
    channels = log_channels(light)
    assert channels[1, 0] - channels[0, 0] == pytest.approx(np.log(3), abs=0.05)
    # The dark offset shifts ratios a little.
    assert channels[0, 1:] == pytest.approx(channels[1, 1:], abs=0.1)


@pytest.mark.parametrize("size", [(300.0, 260.0), (120.0, 400.0)])
def test_shape_is_zero_for_a_rectangle_seen_by_an_independent_camera(size):
    flat = np.column_stack([nominal_corners(*size), np.zeros(4)])
    matrix = np.array([[900.0, 0, 400], [0, 900, 300], [0, 0, 1]])
    seen, _ = cv2.projectPoints(flat, np.array([0.3, -0.4, 0.7]), np.array([10.0, -5, 700]), matrix, np.zeros(5))
    lens = Lens(900.0, 400.0, 300.0)
    assert shape_residuals(seen[:, 0], lens, *size) == pytest.approx(0, abs=1e-9)
    # A panel that is 1 % wider than said shows as 1 % in the ratio.
    assert shape_residuals(seen[:, 0], lens, size[0] * 1.01, size[1])[0] == pytest.approx(-np.log(1.01), abs=1e-9)


def test_rounding_against_a_drawn_arc():
    """The silhouette of a quarter circle, found by trying all its points."""
    panel = true_panel(Pose(tilt_deg=20))
    edge = rounding(panel, 20.0)
    radius = 0.35
    a = np.linspace(0, np.pi / 2, 20001)
    across, down = radius * np.sin(a) - radius, radius * np.cos(a) - radius
    for slant, shift in zip(edge.slant, edge.shift_mm, strict=True):
        if slant < 0:
            # A point `down` below the face is seen where its sight line meets the face's plane.
            on_plane = across + down * -slant
            assert shift == pytest.approx(on_plane.max(), abs=1e-6)


def test_a_bright_panels_edge_shows_where_its_light_ends():
    """Half the light of a lamp from the other side is gone where the allowance says, for usual lamps."""
    panel = true_panel(Pose(tilt_deg=20))
    dark, bright = rounding(panel, 3.0), rounding(panel, 3.0, np.ones(4))
    assert np.all(bright.shift_mm <= dark.shift_mm) and np.all(bright.shade_sd_mm > dark.shade_sd_mm)
    radius, around = 0.12, np.linspace(0, np.pi / 2, 2001)
    for lamp in np.radians([25, 45, 65]):
        light = np.maximum(np.sin(lamp - around), 0) / np.sin(lamp)
        half = radius * (np.sin(np.interp(-0.5, -light, around)) - 1)
        flat = dark.per_radius > -SHADED
        reach = 2 * bright.shade_sd_mm[flat]
        assert np.all(np.abs(half - bright.shift_mm[flat]) < reach)


def test_scale_across_the_sides():
    lens = Lens(1000.0, 500.0, 400.0)
    panel = Panel.from_corners(200, 100, lens, np.array([[300, 300], [700, 300], [700, 500], [300, 500]]))
    assert px_per_mm_across(panel) == pytest.approx(2.0)


def test_corner_directions_move_sides_inwards_and_turn_them():
    place, turn = corner_directions()
    assert place[0] == pytest.approx([0, 1, 0, 1, 0, 0, 0, 0])
    assert place[1] == pytest.approx([0, 0, -1, 0, -1, 0, 0, 0])
    assert (place * turn).sum(axis=1) == pytest.approx(0)


def test_blocks_see_slow_waves_that_neighbours_share():
    rng = np.random.default_rng(4)
    white = rng.normal(0, 0.1, 64)
    wave = white + 0.3 * np.sin(np.arange(64) / 64 * 4 * np.pi)
    same = np.ones(64)
    # Eight blocks of eight: white noise of 0.1 px leaves 0.0125 px, give or take a half.
    assert 0.004 < scatter_of_blocks(white, same) < 0.025
    assert scatter_of_blocks(wave, same) > 3 * scatter_of_blocks(white, same)
