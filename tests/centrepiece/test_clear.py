"""Clear glass: noticed by the lines that it shifts, with its thickness; bare panels and solid pieces are not glass."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.centrepiece import Centrepiece, Clear, find_centrepiece, what_lies_there, why_none
from aligncheck.centrepiece.clear import THICKNESS, seen_through
from aligncheck.centrepiece.shifts import PLACE_MM, Shifts
from aligncheck.photo import Photo
from tests.centrepiece.scenes import petals, photo_and_drift, reach_of, scene, taken
from tests.closeness import assert_within
from tests.render import Glass, by_hand, disc, flower, photograph
from tests.render.glass import INDEX, base_points, sight_lines
from tests.render.hand import Hand
from tests.render.rendered import Rendered

PLATE = Glass(disc((1.0, -1.5), 30.0), 6.0)
DOME = Glass(disc((-1.0, 0.5), 30.0), 10.0, rise_mm=29.5, room=0.2)
LEAVES = Glass(flower((0.5, 1.0), 36.0, 8, 5.0).outline_mm, 4.0, rise_mm=2.0, tint="#bfe3d2")

#: So little is mirrored and swallowed that its edge hardly shows.
PLAIN = Glass(disc((0.0, 0.0), 28.0), 5.0, rise_mm=27.0, room=0.1)


def glazed(glass: Glass, seed: int, tilt_deg: float = 16.0) -> Rendered:
    drawing = replace(by_hand(21, segments=12, rings=8, pitch_mm=12.7), glass=(glass,))
    return photograph(drawing, scene(seed, tilt_deg=tilt_deg, azimuth_deg=190.0), seed)


@pytest.mark.parametrize(("glass", "seed"), [(PLATE, 31), (DOME, 32), (LEAVES, 33)], ids=["plate", "dome", "leaves"])
def test_glass_is_noticed_by_the_lines_it_shifts(glass: Glass, seed: int) -> None:
    """It is told either way; an outline counts as doubtful, and its reach lies in the interval."""
    photo, drift = photo_and_drift(glazed(glass, seed))
    found = what_lies_there(photo, drift)
    assert found is not None
    assert "clear_on_panel" in [note.code for note in found.notes]
    if isinstance(found, Centrepiece):
        assert found.doubtful
        assert_within(found.reach_mm, found.reach_u95_mm, reach_of(glass.outline_mm, drift.centre_mm))


def test_glass_whose_edge_cannot_be_told_is_refused() -> None:
    """Nothing but the lines shows this plate: the refusal names the cause and the next step."""
    photo, drift = photo_and_drift(glazed(PLAIN, 34))
    assert isinstance(what_lies_there(photo, drift), Clear)
    assert find_centrepiece(photo, drift) is None
    error = why_none(photo, drift)
    assert error.code == "clear_piece"
    assert "cut from paper" in str(error)


def test_an_outline_is_bounded_by_where_lines_shift() -> None:
    """About 1 for the true outline, little for one beside it or half as wide."""
    photo, drift = photo_and_drift(glazed(PLATE, 31))
    found = seen_through(photo, drift.marks)
    assert found is not None
    true = np.array(PLATE.outline_mm)
    assert found.bounded_by(true) > 0.8
    assert found.bounded_by(true + (25.0, 0.0)) < 0.5
    assert found.bounded_by(0.4 * true) < 0.8


def test_a_plates_thickness_is_told() -> None:
    """By Snell's law from the lines alone, to a fifth of it: 6 mm."""
    photo, drift = photo_and_drift(glazed(PLATE, 31))
    found = seen_through(photo, drift.marks)
    assert found is not None
    assert found.depth_mm * THICKNESS == pytest.approx(6.0, rel=0.2)
    assert 0.7 * 30 < found.radius_mm < 1.3 * 30


@pytest.mark.parametrize("seed", [41, 42])
def test_no_glass_on_a_bare_panel_drawn_freehand(seed: int) -> None:
    """Bowed strokes and rings out of round are shifted too, but each its own way."""
    hand = Hand(bow_mm=0.35, wave_mm=0.2)
    photo, drift = photo_and_drift(photograph(by_hand(seed, hand=hand, two_strokes=True), scene(seed), seed))
    assert seen_through(photo, drift.marks) is None


def test_a_solid_piece_is_not_glass() -> None:
    photo, drift = photo_and_drift(taken(1, (petals(),)))
    assert seen_through(photo, drift.marks) is None


def test_a_panel_without_lines_says_nothing() -> None:
    photo, drift = photo_and_drift(taken(1, ()))
    assert seen_through(Photo(photo.rgb), replace(drift.marks, spokes=(), rings=())) is None


def test_the_depth_is_that_of_lines_shifted_by_it() -> None:
    """Straight lines all round, moved by 1.5 mm times their slope within 20 mm: the depth is 1.5, else none."""
    rng = np.random.default_rng(3)
    t = np.arange(5.0, 60.0, 2.0)
    bearings = np.arange(12) * 30.0
    at = np.concatenate([t[:, None] * (np.sin(np.radians(b)), -np.cos(np.radians(b))) for b in bearings])
    slope = np.repeat(0.3 * np.cos(np.radians(bearings)), len(t))
    absorbed = np.tile(np.column_stack([np.ones_like(t), t, np.zeros_like(t)]), (12, 1))
    line = np.repeat(np.arange(12), len(t))
    inside = np.hypot(*at.T)[:, None] < 20
    noise = rng.normal(0, PLACE_MM, len(at))
    for depth in (0.0, 1.5):
        found, deviation = Shifts(at, slope, depth * slope * inside[:, 0] + noise, absorbed, line).depth(inside)
        assert abs(found[0] - depth) < 3 * deviation[0]
        assert deviation[0] < 0.2


def test_the_renderer_bends_sight_lines_as_snell_says() -> None:
    """Through a plate of 8 mm: short of the straight line by t (tan a - tan b), sin a = n sin b."""
    camera = scene(31, tilt_deg=20.0, azimuth_deg=180.0).camera
    assert camera is not None
    foot = np.array([[[4.0, -3.0], [-10.0, 12.0]]])
    seen = base_points(sight_lines(foot, camera, Glass(disc((0.0, 0.0), 40.0), 8.0)))
    away = foot - camera.position_mm[:2]
    outside = np.hypot(*np.moveaxis(away, -1, 0)) / camera.position_mm[2]
    sine = np.sin(np.arctan(outside)) / INDEX
    short = 8.0 * (outside - sine / np.sqrt(1 - sine**2))
    along = away / np.hypot(*np.moveaxis(away, -1, 0))[..., None]
    # The top is found in steps of 0.2 mm.
    np.testing.assert_allclose(seen, foot - short[..., None] * along, atol=0.05)
