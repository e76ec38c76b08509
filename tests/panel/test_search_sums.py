"""What the search sums up at once, against the same done one by one."""

from dataclasses import replace
from itertools import product

import cv2
import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.panel import Panel, inside
from aligncheck.panel.bands import Band
from aligncheck.panel.edge_bands import _heights, _Model
from aligncheck.panel.findings import Findings
from aligncheck.panel.nested import _on_grid
from aligncheck.panel.outlines import SAME_PX, Outline, corner_distance, different
from aligncheck.panel.pattern import LinePixels, agreement
from aligncheck.panel.polish import PLACES as POLISHED
from aligncheck.panel.polish import PRICE, clearest_track
from aligncheck.panel.rim import sides_of
from aligncheck.panel.shadow import throws_shadow
from aligncheck.panel.side_choice import _met, _straight_lines, crossings
from aligncheck.panel.side_search import BENDS, PLACES, Track, _bows
from aligncheck.panel.small import SmallView
from aligncheck.panel.steps import FAR_PX, HALF_AT, NEAR_PX, SLIDE_PX, lasting, sample, steps_across
from aligncheck.panel.strips import side_between
from aligncheck.panel.tracks import is_drawn_line
from aligncheck.photo.photo import Photo, area_means

SQUARE = np.array([[100.0, 100], [300, 100], [300, 300], [100, 300]])


def noisy_view(seed: int = 2) -> SmallView:
    rng = np.random.default_rng(seed)
    picture = rng.normal(120, 6, (400, 420, 3))
    picture[:, 210:] += (40, 10, -20)
    return SmallView(np.clip(picture, 0, 255).astype(np.uint8), 1.0, 400.0, (209.5, 199.5))


def test_different_outlines_are_those_unlike_all_before() -> None:
    rng = np.random.default_rng(1)
    corners = SQUARE + rng.choice([0.0, 9.0, 25.0, 60.0], (120, 1, 1)) + rng.normal(0, 6, (120, 4, 2))
    corners[::3] = np.roll(corners[::3], 1, axis=1)
    kept: list[int] = []
    for k in range(len(corners)):
        if all(corner_distance(corners[j], corners[k]) > SAME_PX for j in kept):
            kept.append(k)
    assert 4 < len(kept) < 100
    assert different(corners, 500).tolist() == kept
    assert different(corners, 3).tolist() == kept[:3]


def test_near_steps_are_the_clearest_of_three_places_and_soft() -> None:
    view, rng = noisy_view(), np.random.default_rng(3)
    points = rng.uniform(20, 380, (5, 30, 2))
    normals = np.array([0.6, 0.8])
    near, far = steps_across(view, points, normals)

    def step(slide: float, apart: float) -> np.ndarray:
        ends = [sample(view.channels, points + (slide + sign * apart) * normals) for sign in (1, -1)]
        difference = ends[0] - ends[1]
        return difference / (np.abs(difference) + HALF_AT * view.noise)

    each = np.stack([step(slide, NEAR_PX) for slide in SLIDE_PX])
    best = (each**2).sum(-1).argmax(0)
    expected = np.take_along_axis(each, best[None, ..., None], axis=0)[0]
    assert near == pytest.approx(expected, abs=2e-3)
    assert far == pytest.approx(step(0.0, FAR_PX), abs=2e-3)


def test_the_clearest_track_is_the_best_of_all_pairs_of_ends() -> None:
    corners = np.array([[[80.0, 60], [198, 60], [221, 340], [80, 340]], [[80.0, 60], [206, 60], [206, 340], [80, 340]]])
    view, share = noisy_view(), (np.arange(POLISHED) + 0.5) / POLISHED
    moves = clearest_track(view, corners, 1, 12.0)
    for outline, found in zip(corners, moves, strict=True):
        start, along, inward = (v[1] for v in sides_of(outline))
        across = np.arange(-12, 12.1, 1.5)
        base = start + share[:, None] * along
        near, far = steps_across(view, base + across[:, None, None] * inward, inward)
        worth = {}
        for one, other in product(across[::2], across[::2]):
            row = np.rint((one + share * (other - one) + 12) / 1.5).astype(int)
            steps = [part[row, np.arange(POLISHED)].mean(0) for part in (near, far)]
            worth[one, other] = np.linalg.norm(lasting(*steps)) - PRICE * (abs(one) + abs(other))
        assert tuple(found) == max(worth, key=worth.__getitem__)
    # The edge at x = 209.5 is 11.5 px outside one end of the first and inside the other: it has to turn.
    assert moves[0, 0] < -6 and moves[0, 1] > 6


def test_agreement_is_the_mean_of_cos_4_u_less_w() -> None:
    rng = np.random.default_rng(4)
    spots = rng.uniform(0, 300, 500) + 1j * rng.uniform(0, 300, 500)
    angle, weight = rng.uniform(0, np.pi, 500), rng.uniform(0.5, 3, 500)
    centres = np.array([150 + 140j, 20 + 30j])
    expected = [(np.cos(4 * (angle - np.angle(spots - centre))) * weight).sum() / weight.sum() for centre in centres]
    assert agreement(LinePixels(spots, np.exp(2j * angle), weight), centres) == pytest.approx(expected, abs=1e-5)


def test_bows_are_what_each_lens_does_to_a_straight_side() -> None:
    lens, corners = Lens(900.0, 500.0, 400.0, 0.01), (np.array([80.0, 60]), np.array([930.0, 110]))
    straight = side_between(*corners, lens, PLACES + 0.5)
    for k1, bow in zip(BENDS, _bows(corners, lens, BENDS), strict=True):
        bent = side_between(*corners, replace(lens, k1=lens.k1 + k1), PLACES + 0.5)
        assert bow == pytest.approx(((bent.points_px - straight.points_px) * straight.outward).sum(1), abs=1e-9)
    assert np.abs(_bows(corners, lens, BENDS)).max() > 1


def test_corners_of_tracks_are_where_neighbouring_lines_meet() -> None:
    lens = Lens(900.0, 210.0, 200.0, 0.03)
    ends = [(SQUARE[i], SQUARE[(i + 1) % 4]) for i in range(4)]
    tracks = [[Track(0.0, 0.0, 1.0), Track(2.0 + i, -1.0, 1.0)] for i in range(4)]
    lines = [_straight_lines(pair, both, lens) for pair, both in zip(ends, tracks, strict=True)]
    met = _met(lines[0], lines[1])
    for first, second in product((0, 1), (0, 1)):
        corners = crossings(ends, [tracks[0][first], tracks[1][second], tracks[2][0], tracks[3][0]], lens)
        assert lens.bend(met[first, second]) == pytest.approx(corners[1])
    assert crossings(ends, [t[0] for t in tracks], lens) == pytest.approx(SQUARE, abs=1e-6)
    assert crossings(ends, [t[1] for t in tracks], lens)[0] != pytest.approx(SQUARE[0], abs=1)


def test_sums_on_a_grid_are_those_of_every_choice() -> None:
    rng = np.random.default_rng(6)
    sides = [rng.normal(size=(count, 4)) for count in (2, 3, 1, 4)]
    grid = _on_grid(sides)
    assert grid.shape == (2, 3, 1, 4, 4)
    for pick in product(*(range(len(side)) for side in sides)):
        assert grid[pick] == pytest.approx(sum(side[k] for side, k in zip(sides, pick, strict=True)))


@pytest.mark.parametrize(("beyond", "line"), [((90, 0, 0, 1), True), ((90, 0, 0, 5), False), ((90, 9, 0, 1), False)])
def test_a_drawn_line_has_the_same_surface_on_both_flanks(beyond: tuple[float, ...], line: bool) -> None:
    values = np.zeros((120, 44, 4), np.float32)
    values[:] = (90, 0, 0, 1)
    values[:60] = beyond
    values[58:62, :, 0] += 60
    assert is_drawn_line(Band(values, 12, 600, 2.0), 48.0, 0.0) is line


def test_a_step_beyond_the_window_has_no_height() -> None:
    profiles = np.tile(np.linspace(0.2, 0.3, 61, dtype=np.float32), (8, 1))
    assert _heights(_Model(4.0, 1.0), profiles, np.full(8, 500.0), np.ones(61)) == (0.0, 0.0)


def test_the_outline_it_was_refined_from_is_no_border(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refining it again would cost as much as the whole search."""
    monkeypatch.setattr(inside, "refine_outline", lambda *_: pytest.fail("refined again"))
    monkeypatch.setattr(inside, "_even", lambda *_: True)
    monkeypatch.setattr(inside, "hides_sides", lambda *_: False)
    monkeypatch.setattr(inside, "is_band", lambda *_: False)
    monkeypatch.setattr(inside, "_around_inner_edge", lambda *_: None)
    search = type("Search", (), {"view": noisy_view()})
    best = type("Candidate", (), {"corners_px": SQUARE + 2.0})
    findings = Findings(outlines=[Outline(SQUARE, 10.0, np.zeros((4, 3)))])
    assert inside.outside_border(search, best, findings) is best  # type: ignore[arg-type]
    monkeypatch.setattr(inside, "stands_out", lambda *_: True)
    findings.outlines.append(Outline(SQUARE + 40.0, 9.0, np.zeros((4, 3))))
    assert inside.outside_border(search, best, findings) is best  # type: ignore[arg-type]


@pytest.mark.parametrize(("height", "width", "factor"), [(64, 96, 4), (60, 90, 6), (63, 95, 4)])
def test_reduced_pixels_are_means(height: int, width: int, factor: int) -> None:
    rgb = np.random.default_rng(8).integers(0, 256, (height, width, 3), dtype=np.uint8)
    rows, columns = height // factor, width // factor
    blocks = rgb[: rows * factor, : columns * factor].reshape(rows, factor, columns, factor, 3)
    reduced = Photo(rgb).reduced(factor)
    assert reduced.shape == (rows, columns, 3)
    # Halving twice rounds twice.
    assert np.abs(reduced - blocks.mean((1, 3))).max() < 1.2


def test_other_sizes_are_means_as_well() -> None:
    ramp = np.broadcast_to(np.linspace(0, 250, 1000)[None, :, None], (400, 1000, 3)).astype(np.uint8)
    small = area_means(np.ascontiguousarray(ramp), (300, 120))
    assert small.shape == (120, 300, 3)
    assert small[60, :, 0] == pytest.approx(np.linspace(0, 250, 300), abs=1.5)


@pytest.mark.parametrize(("moved", "shaded", "under"), [(0.0, True, True), (0.0, False, False), (70.0, True, False)])
def test_a_sheet_under_the_panel_is_no_rival(
    monkeypatch: pytest.MonkeyPatch, moved: float, shaded: bool, under: bool
) -> None:
    monkeypatch.setattr(inside, "believed_inside", lambda *_: True)
    monkeypatch.setattr(inside, "stands_out", lambda *_: shaded)
    lens = Lens(900.0, 210.0, 200.0)
    fit = type("Fit", (), {"panel": lambda _, *size: Panel.from_corners(*size, lens, SQUARE)})()
    sheet = type("Candidate", (), {"fit": fit, "size_mm": (200.0, 200.0), "corners_px": SQUARE})
    best = type("Candidate", (), {"corners_px": 200 + 0.8 * (SQUARE - 200) + moved})
    assert inside.lies_under(None, sheet, best) is under  # type: ignore[arg-type]


def test_the_table_beyond_a_dark_panel_is_no_shadow_of_its_border() -> None:
    """The border runs 21 px inside the panel's own side: further out it gets bright, but not as a shadow ends."""
    panel_px, border_px = (500 + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) for half in (350.0, 329.0))
    picture = np.full((1000, 1000, 3), 190, np.uint8)
    picture[150:851, 150:851] = 40
    border = Panel.from_corners(200, 200, Lens(900.0, 499.5, 499.5), border_px)
    assert throws_shadow(picture, border)
    assert not throws_shadow(picture, border, panel_px)
    # A panel of that size would shade the sheet under it at once.
    for away in range(12):
        cv2.rectangle(picture, (171 - away, 171 - away), (829 + away, 829 + away), [20 + 2 * away] * 3, 1)
    assert throws_shadow(picture, border, panel_px)
    far = 500 + 480.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    assert throws_shadow(picture, border, far)
