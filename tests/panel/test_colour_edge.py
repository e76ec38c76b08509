"""Sides that luminance places badly are placed by their colour."""

import cv2
import numpy as np
import pytest

from aligncheck.geometry.normal import normal_cdf
from aligncheck.lens import Lens
from aligncheck.panel import sides
from aligncheck.panel.colour_edge import (
    SEEN,
    WIDE,
    is_doubtful,
    scatter_about_line,
    with_colour,
)
from aligncheck.panel.colour_place import colour_places
from aligncheck.panel.edges import locate_edges, read_edge_strip
from aligncheck.panel.sides import fit_sides
from tests.panel.drawn import as_photo, codes, corner_errors_mm, inside_share, photo_of, rough, true_panel

STRAIGHT = Lens(1200.0, 399.5, 299.5)


def woven_and_plain(edge_y: float, face, table, *, seed: int = 1) -> np.ndarray:
    """Codes (600, 800, 3): below `edge_y` a face whose threads run along the edge, each another strength of light."""
    rng = np.random.default_rng(seed)
    y = np.arange(600)[:, None] + 0.5 * np.sin(np.arange(800) / 60.0)
    threads = 1 + 0.45 * np.sin(y * 2 * np.pi / 4.3 + 2 * np.sin(np.arange(800) / 37.0))
    inside = 1 / (1 + np.exp(-(np.arange(600)[:, None] - edge_y) / 0.5)) * np.ones((600, 800))
    light = inside[..., None] * face * threads[..., None] + (1 - inside[..., None]) * np.asarray(table)
    picture = codes(np.clip(light, 0, 1), seed=int(rng.integers(99)))
    stored = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])[1]
    return np.ascontiguousarray(cv2.imdecode(stored, cv2.IMREAD_COLOR)[..., ::-1])


def test_colour_places_an_edge_between_threads():
    rgb = woven_and_plain(250.0, np.array([0.17, 0.18, 0.22]), np.array([0.30, 0.19, 0.11]))
    first, second = np.array([60.0, 248.6]), np.array([740.0, 251.2])
    side, light = read_edge_strip(rgb, first, second, STRAIGHT, 1.0)
    plain = locate_edges(side, light, 4.0, 1.0)
    assert is_doubtful(plain, 1.0)
    _, wide = read_edge_strip(rgb, first, second, STRAIGHT, WIDE)
    joined = with_colour(plain, wide, 4.0, 1.0, 0.95)
    assert joined is not None
    off = [float(np.abs(np.median(e.points_px[:, 1]) - 250.0)) for e in (plain, joined)]
    # Threads pull luminance by half a pixel and more; colour is right to its own claim.
    assert off[1] < 0.5 < scatter_about_line(plain.offsets_px, plain.sureness)
    assert scatter_about_line(joined.offsets_px, joined.sureness) < 0.5


def beside_brown(face, *, shadow_px: float = 0.0, edge_y: float = 250.3) -> np.ndarray:
    """Codes (600, 800, 3) as stored: below a face, above it brown wood, in a shadow as dark as the face."""
    brown = np.array([0.45, 0.27, 0.13])
    inside, lit = (normal_cdf((np.arange(600) - y) / 0.8)[:, None, None] for y in (edge_y, edge_y - shadow_px))
    light = inside * face + (1 - lit) * brown + (lit - inside) * brown * np.mean(face) / brown.mean()
    picture = codes(np.repeat(light, 800, axis=1))
    stored = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])[1]
    return np.ascontiguousarray(cv2.imdecode(stored, cv2.IMREAD_COLOR)[..., ::-1])


@pytest.mark.parametrize("shadow_px", [0.0, 3.0, 6.0])
@pytest.mark.parametrize("face", [(0.02, 0.02, 0.022), (0.29, 0.29, 0.3), (0.03, 0.05, 0.12)])
def test_bleeding_colour_and_a_shadow_are_allowed_for(face, shadow_px):
    rgb = beside_brown(np.array(face), shadow_px=shadow_px)
    first, second = np.array([60.0, 249.9]), np.array([740.0, 250.7])
    side, wide = read_edge_strip(rgb, first, second, STRAIGHT, WIDE)
    found = colour_places(wide, WIDE, 4.0, 0.8)
    y = side.points_px[:, 1] - found.offsets_px
    # A step fitted to the colour itself would lie up to five pixels off: in the darker surface, or in the shadow.
    # Beside a table fifteen times as bright only the lens's last traces of it tell, and that is said.
    claim = np.sqrt(np.median(found.variance_px2))
    assert abs(float(np.median(y)) - 250.3) < max(0.3, 1.2 * claim)
    assert claim < (0.7 if max(face) < 0.03 else 0.5)
    assert np.median(found.sureness) > SEEN


def test_where_colour_leaves_the_photo_luminance_stays():
    rgb = beside_brown(np.array((0.29, 0.29, 0.3)))
    first, second = np.array([60.0, 249.9]), np.array([740.0, 250.7])
    side, light = read_edge_strip(rgb, first, second, STRAIGHT, 1.0)
    _, wide = read_edge_strip(rgb, first, second, STRAIGHT, WIDE)
    own = locate_edges(side, light, 4.0, 1.0)
    wide[:6, -3:] = np.nan
    joined = with_colour(own, wide, 4.0, 1.0, 0.8)
    assert joined is not None
    assert np.array_equal(joined.offsets_px[:6], own.offsets_px[:6])
    assert np.isfinite(joined.variance_px2[:6]).all()


def test_without_colour_there_is_nothing_to_join():
    rgb = woven_and_plain(250.0, np.array([0.2, 0.2, 0.2]), np.array([0.2, 0.2, 0.2]))
    first, second = np.array([60.0, 250.0]), np.array([740.0, 250.0])
    side, light = read_edge_strip(rgb, first, second, STRAIGHT, 1.0)
    _, wide = read_edge_strip(rgb, first, second, STRAIGHT, WIDE)
    assert with_colour(locate_edges(side, light, 4.0, 1.0), wide, 4.0, 1.0, 0.95) is None


def test_scatter_counts_pieces_that_see_their_step():
    rng = np.random.default_rng(3)
    line = 0.3 + 0.02 * np.arange(64)
    places = line + rng.normal(0, 0.1, 64)
    places[::3] += rng.normal(0, 3, len(places[::3]))
    sureness = np.full(64, 20.0)
    assert scatter_about_line(places, sureness) > 0.12
    sureness[::3] = 0.1
    assert scatter_about_line(places, sureness) == pytest.approx(0.1, rel=0.4)


def test_colour_mends_a_grey_panel_on_brown_wood():
    """Grey from glare on wood of its own brightness: grain and shade move luminance, colour tells."""
    rng = np.random.default_rng(5)
    panel = true_panel()
    share = inside_share(panel)[..., None]
    grain = cv2.GaussianBlur(rng.normal(0, 1, share.shape[:2]), (0, 0), 1.6)[..., None]
    face = np.array([0.20, 0.20, 0.205]) * (1 + 2.2 * cv2.GaussianBlur(grain, (0, 0), 1.0)[..., None])
    light = share * face + (1 - share) * np.array([0.30, 0.18, 0.10]) * (1 + 0.6 * grain)
    fit = fit_sides(as_photo(codes(np.clip(light, 0.01, 1))), rough(panel), 300, 260, depth_mm=0.0)
    errors = corner_errors_mm(fit.corners_px, panel)
    assert errors.max() < 0.2
    assert (errors < np.array(fit.panel(300, 260).corner_u95_mm)).all()


def test_a_start_beyond_the_reach_is_followed(monkeypatch):
    panel = true_panel()
    start = panel.corners_px + np.array([[0, 0], [24.0, 5.0], [25.0, -3.0], [0, 0]])
    photo = photo_of(panel)
    assert corner_errors_mm(fit_sides(photo, start, 300, 260).corners_px, panel).max() < 0.1
    # Without the second search the right side stays where the first one's reach of 10 px ends.
    monkeypatch.setattr(sides, "FAR", np.inf)
    assert corner_errors_mm(fit_sides(photo, start, 300, 260).corners_px, panel).max() > 0.3
