"""The parts of the search, each against a picture or a shape whose answer is known."""

import cv2
import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.panel import Panel
from aligncheck.panel.bands import bands_of
from aligncheck.panel.nested import nested_outlines
from aligncheck.panel.outlines import corner_distance, plain_outlines
from aligncheck.panel.pattern import agreement, line_pixels, stronger
from aligncheck.panel.quads import quads_from
from aligncheck.panel.rectangle import shape_misfit
from aligncheck.panel.segments import Lines, line_pool, without_twins
from aligncheck.panel.shadow import throws_shadow
from aligncheck.panel.small import SmallView
from aligncheck.panel.tracks import find_tracks, is_drawn_line
from aligncheck.panel.wheel import find_wheels
from aligncheck.photo.sharpness import edge_width_px

WIDTH, HEIGHT, FOCAL = 1000, 760, 740.0
SIZE_MM = (240.0, 180.0)


def tilted(tilt_deg=22.0, roll_deg=8.0, size_mm=SIZE_MM, far_mm=420.0):
    """Corners in pixels of a panel tilted about a skew axis, and the unit normal of its plane towards the camera."""
    axis = np.radians(tilt_deg) * np.array([0.8, 0.6, 0.0])
    turn = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array([0, 0, np.radians(roll_deg)]))[0]
    flat = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) * np.array(size_mm) / 2
    space = np.column_stack([flat, np.zeros(4)]) @ turn.T + [8, -5, far_mm]
    corners = FOCAL * space[:, :2] / space[:, 2:] + ((WIDTH - 1) / 2, (HEIGHT - 1) / 2)
    return corners, -turn[:, 2]


def view_of(picture):
    return SmallView(picture, 1.0, FOCAL, ((WIDTH - 1) / 2, (HEIGHT - 1) / 2))


def panel_at(corners):
    return Panel.from_corners(*SIZE_MM, Lens(FOCAL, (WIDTH - 1) / 2, (HEIGHT - 1) / 2), corners)


def filled(corners, inside=(60, 60, 120), outside=(190, 160, 120), seed=1):
    picture = np.full((HEIGHT, WIDTH, 3), outside, float)
    shape = np.zeros((HEIGHT, WIDTH), np.uint8)
    cv2.fillPoly(shape, [np.round(corners * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    share = shape[..., None] / 255.0
    picture = picture * (1 - share) + share * np.array(inside, float)
    noise = np.random.default_rng(seed).normal(0, 2, picture.shape)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)


def drawn_wheel(picture, corners, value=(230, 230, 225)):
    """Chalk spokes and rings about the panel's middle, in its plane."""
    panel = panel_at(corners)
    turn = np.linspace(0, 2 * np.pi, 200)
    for radius in (15, 30, 45, 60):
        path = panel.to_photo(radius * np.stack([np.cos(turn), np.sin(turn)], -1))
        cv2.polylines(picture, [np.round(path * 16).astype(np.int32)], True, value, 2, cv2.LINE_AA, 4)
    for angle in np.radians(np.arange(7, 367, 30)):
        way = np.array([np.cos(angle), np.sin(angle)])
        path = panel.to_photo(np.stack([6 * way, 70 * way]))
        cv2.polylines(picture, [np.round(path * 16).astype(np.int32)], False, value, 2, cv2.LINE_AA, 4)
    return picture


def side_lines(corners):
    relative = corners - ((WIDTH - 1) / 2, (HEIGHT - 1) / 2)
    along = np.roll(relative, -1, axis=0) - relative
    normal = np.stack([-along[:, 1], along[:, 0]], -1) / np.linalg.norm(along, axis=1, keepdims=True)
    return Lines(normal, (normal * relative).sum(1), np.ones(4))


def test_three_exact_lines_give_the_exact_fourth():
    """Closed form: with the right focal length some triple of sides must return all four corners exactly."""
    corners, _ = tilted()
    for left_out in range(4):
        lines = side_lines(corners).taken(np.array([k for k in range(4) if k != left_out]))
        quads = quads_from(lines, view_of(np.zeros((HEIGHT, WIDTH, 3), np.uint8)), *SIZE_MM)
        assert min(corner_distance(q, corners) for q in quads.corners) < 1e-6


def test_twin_lines_are_one_line():
    lines = side_lines(tilted()[0])
    both = lines.joined(Lines(-lines.normal, -lines.rho + 0.5, lines.weight))
    assert len(without_twins(both)) == 4


def test_the_plain_search_finds_a_drawn_panel():
    corners, _ = tilted()
    view = view_of(filled(corners))
    best = plain_outlines(view, line_pool(view), *SIZE_MM)[0]
    # The lines come from reduced pictures: two pixels of the view.
    assert corner_distance(best.corners, corners) < 3
    assert best.score > 9


def test_shape_misfit_is_zero_for_the_panel_and_grows_with_its_proportions():
    corners, _ = tilted()
    panel = panel_at(corners)
    exact = panel.to_panel(corners)[None]
    np.testing.assert_allclose(shape_misfit(panel, exact), 0, atol=1e-9)
    ratio, cosine = shape_misfit(panel, exact * (1.02, 1.0))
    assert ratio[0] == pytest.approx(np.log(1.02), abs=1e-6)
    assert cosine[0] == pytest.approx(0, abs=1e-6)


def test_spokes_and_rings_agree_and_a_grid_does_not():
    y, x = np.mgrid[0:300, 0:300].astype(np.float32) - 149.5
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    wheel = 200 * np.exp(-(((radius % 30) - 15) ** 2) / 3)
    wheel += 200 * np.exp(-((np.sin(6 * angle) * radius / 6) ** 2) / 2)
    grid = 200 * np.exp(-(((x % 30) - 15) ** 2) / 3) + 200 * np.exp(-(((y % 30) - 15) ** 2) / 3)
    middle = np.array([149.5 + 149.5j])
    assert agreement(stronger(*line_pixels(wheel.astype(np.float32), 0.05, 8)), middle)[0] > 0.7
    assert abs(agreement(stronger(*line_pixels(grid.astype(np.float32), 0.05, 8)), middle)[0]) < 0.25


def test_the_wheel_shows_its_centre_and_plane():
    corners, normal = tilted()
    picture = drawn_wheel(filled(corners, (70, 70, 70), (70, 70, 70)), corners)
    wheel = find_wheels(view_of(picture))[0]
    centre = panel_at(corners).to_photo([0.0, 0.0])
    assert abs(wheel.centre - complex(*centre)) < 2
    assert np.degrees(np.arccos(min(1.0, abs(wheel.normal @ normal)))) < 5
    assert wheel.pattern > 0.6


def test_a_panel_on_a_turned_sheet_is_found_inside_it():
    corners, _ = tilted(tilt_deg=8)
    sheet = panel_at(corners).to_photo(np.array([[-137, -107], [139, -104], [136, 107], [-138, 105.0]]))
    picture = filled(sheet, (95, 95, 110))
    inner = filled(corners, (70, 74, 130), seed=2)
    shape = np.zeros((HEIGHT, WIDTH), np.uint8)
    cv2.fillPoly(shape, [np.round(corners * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    picture = np.where(shape[..., None] > 127, inner, picture)
    outer = panel_at(sheet)
    best = nested_outlines(picture, outer, least=3.0)[0]
    assert best.new_sides == 4
    assert corner_distance(best.corners_px, corners) < 5


def banded(kind):
    """A level outline with a track 30 px inside its upper side: an edge, or a drawn line."""
    corners = np.array([[150.0, 130], [850, 130], [850, 655], [150, 655]])
    picture = filled(corners).astype(int)
    if kind == "line":
        picture[158:162, 150:850] += 90
    else:
        picture[160:655, 150:850] += np.array([18, 25, -20])
    return bands_of(np.clip(picture, 0, 255).astype(np.uint8), panel_at(corners), depth=0.15)[0]


def test_an_edge_is_a_track_and_a_drawn_line_is_not():
    how = {"blind_px": 4, "turn_deg": 1.0, "turn_step_deg": 0.25}
    edge = banded("edge")
    depth = 30 * edge.px_per_mm / (700 / SIZE_MM[0])
    track = find_tracks(edge, lines_out=True, **how)[0]
    assert track.depth_px == pytest.approx(depth, abs=2)
    assert not is_drawn_line(edge, depth, 0.0)
    line = banded("line")
    assert is_drawn_line(line, depth, 0.0)
    near = [t for t in find_tracks(line, lines_out=True, **how) if abs(t.depth_px - depth) < 8 and t.strength > 0.5]
    assert near == []


@pytest.mark.parametrize(("sigma", "low", "high"), [(1.0, 2, 8), (18.0, 30, 80)])
def test_edge_width_follows_the_blur(sigma, low, high):
    """The range of a blurred step over its steepest rise is sqrt(2 pi) sigma; at 4032 px a pixel here is four."""
    picture = np.full((760, 4032), 60, np.uint8)
    picture[380:] = 180
    picture = cv2.GaussianBlur(picture, (0, 0), sigma)
    width = edge_width_px(picture, np.array([300.0, 380]), np.array([3700.0, 380]))
    assert low < width < high
    assert width == pytest.approx(np.sqrt(2 * np.pi) * sigma, rel=0.3)


@pytest.mark.parametrize("shaded", [False, True])
def test_a_panel_shades_its_sheet_and_a_border_does_not(shaded):
    corners, _ = tilted()
    picture = filled(corners).astype(np.float32)
    if shaded:
        inside = np.zeros(picture.shape[:2], np.uint8)
        cv2.fillPoly(inside, [np.round(corners).astype(np.int32)], 1)
        away = cv2.distanceTransform(1 - inside, cv2.DIST_L2, 5)
        picture *= np.where((away > 0) & (np.arange(WIDTH) > WIDTH / 2), 1 - 0.2 * np.exp(-away / 8), 1)[..., None]
    assert throws_shadow(np.clip(picture, 0, 255).astype(np.uint8), panel_at(corners)) == shaded
