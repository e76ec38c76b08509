"""No label covers another, the marks, an arrow, a number or the frame: many random layouts, both grounds."""

import cv2
import numpy as np
import pytest

from aligncheck.overlay.grounds import FlatGround, PhotoGround
from aligncheck.overlay.lane import room_mm
from aligncheck.overlay.picture import Composition, compose
from aligncheck.overlay.view import PHONE, PRINT, View
from aligncheck.panel import Panel
from aligncheck.panel.flat import FlatView
from aligncheck.photo import Photo
from tests.overlay.made import even_spokes, level_panel, made_drift


def slanted_panel(width_mm: float, height_mm: float) -> Panel:
    """The same panel, seen from the side and turned."""
    level = level_panel(width_mm, height_mm)
    corners = level.corners_px + np.array([[60, 90], [-70, -40], [30, 20], [-40, 60]])
    return Panel.from_corners(width_mm, height_mm, level.lens, corners)


def composed(seed: int, on_photo: bool) -> tuple[View, Composition]:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(3, 49))
    width, height = rng.choice([(300, 300), (400, 300), (200, 300)])
    size = min(width, height)
    panel = slanted_panel(width, height) if on_photo else level_panel(width, height)
    spokes = even_spokes(n, rng.normal(0, 1.2, n), 8.0, size * rng.uniform(0.3, 0.44), rng.uniform(0, 360))
    pitch = size * 0.04
    rings = [((0.0, 0.0), k * pitch + rng.normal(0, 0.7), k * pitch) for k in range(1, 7)]
    drift = made_drift(panel, spokes, rings, centre_mm=rng.normal(0, 1.0, 2))
    style, width_px = (PHONE, 390) if seed % 2 else (PRINT, 1800)
    if on_photo:
        photo = Photo(np.full((1500, 1800, 3), 90, np.uint8))
        view = PhotoGround(photo, panel, style).view(width_px, 58)
    else:
        flat = FlatView(np.full((round(2 * height), round(2 * width), 3), 40, np.uint8), 2.0, (0.0, 0.0))
        view = FlatGround(flat, panel, style).view(width_px, 58)
    return view, compose(view, drift)


def ground_of(view, polygons):
    """A mask of the pixels that the polygons cover."""
    _, _, right, bottom = view.frame
    mask = np.zeros((round(bottom) + 1, round(right) + 1), np.uint8)
    for polygon in polygons:
        cv2.fillPoly(mask, [np.round(polygon).astype(np.int32)], 1)
    return mask


def covers(box, mask) -> bool:
    """Whether a box covers a marked pixel; a pixel on its very edge does not count."""
    left, top, right, bottom = (round(v) for v in box)
    return bool(mask[top + 1 : bottom, left + 1 : right].any())


def overlap(one, other) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@pytest.mark.parametrize("on_photo", [False, True])
@pytest.mark.parametrize("seed", range(20))
def test_plates_cover_nothing(seed, on_photo):
    """Every placed plate stands free of all that must be read, and no leader runs through another plate."""
    view, made = composed(seed, on_photo)
    boxes = [placed.box for _, placed in made.placements if placed is not None]
    left, top, right, bottom = view.frame
    marks = ground_of(view, [view.to_px(made.lane.outline_mm()), *made.spokes.arrow_outlines_px])
    for k, box in enumerate(boxes):
        assert box[0] >= left and box[1] >= top and box[2] <= right and box[3] <= bottom
        assert not any(overlap(box, other) for other in boxes[:k])
        assert not any(overlap(box, number) for number in made.frame.number_boxes)
        assert not covers(box, marks)
    for one in (placed for _, placed in made.placements if placed is not None and placed.leader is not None):
        assert not any(runs_through(one.leader, box) for box in boxes if box != one.box)


def runs_through(leader, box) -> bool:
    start, end = leader
    x, y = (start + np.linspace(0, 1, 60)[:, None] * (end - start)).T
    return bool(((x > box[0]) & (x < box[2]) & (y > box[1]) & (y < box[3])).any())


def test_few_moves_all_keep_their_figures():
    """Up to six moves on twelve spokes find room on a phone, each with its unit."""
    panel = level_panel()
    moves = [0, 2.5, 0, -1.9, 0, 3.1, 0, 1.6, 0, -4.0, 0, 1.8]
    drift = made_drift(panel, even_spokes(12, moves, turn_deg=7.0))
    flat = FlatView(np.zeros((600, 600, 3), np.uint8), 2.0, (299.5, 299.5))
    view = FlatGround(flat, panel, PHONE).view(390, 58)
    placements = compose(view, drift).placements
    assert len(placements) == 6
    for callout, placed in placements:
        assert placed is not None
        assert placed.label.plate.lines[0].text == f"{callout.figure} mm"
    assert [callout.kind for callout, _ in placements] == ["worst"] + ["move"] * 5


@pytest.mark.parametrize("turn_deg", [0.0, 9.0, 45.0, 95.0])
def test_spokes_to_the_edge_keep_their_figures(turn_deg):
    """Where spokes end at the panel's edge the gutter grows, so that arrows and plates find room."""
    panel = level_panel()
    drift = made_drift(panel, even_spokes(8, [3.0, 0, 0, 0, -2.0, 0, 0, 0], outer_mm=146.0, turn_deg=turn_deg))
    flat = FlatView(np.zeros((600, 600, 3), np.uint8), 2.0, (299.5, 299.5))
    view = FlatGround(flat, panel, PHONE, room_mm(drift)).view(390, 58)
    assert [placed is not None for _, placed in compose(view, drift).placements] == [True, True]
    assert view.px_per_mm * panel.width_mm >= 0.75 * 390


def test_what_finds_no_room_is_counted():
    """Doubts without room are named in the legend, never lost silently."""
    panel = level_panel()
    drift = made_drift(panel, even_spokes(48, [1.0, -1.0] * 24))
    flat = FlatView(np.zeros((600, 600, 3), np.uint8), 2.0, (299.5, 299.5))
    view = FlatGround(flat, panel, PHONE).view(390, 58)
    made = compose(view, drift)
    hidden = sum(placed is None for _, placed in made.placements)
    assert hidden > 0
    assert made.entries[-1].text == f"{hidden} more in the list"
