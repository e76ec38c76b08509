"""Margins of drawn panels against what was drawn; what is no part of the design must not count."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.errors import InputError, MarksError
from aligncheck.margin import find_margin
from aligncheck.marks import Centre, Marks
from aligncheck.photo import Photo
from tests.margin.true_margins import true_margins
from tests.render import Dot, Drawing, Scene, by_hand, ordinary_scene, photograph
from tests.truth import true_marks, true_panel

SIZE_PX = (1600, 1200)


def scene(seed: int) -> Scene:
    return ordinary_scene(seed, SIZE_PX, most_tilt_deg=14.0)


def painted(seed: int, segments: int = 12, colour: str = "#c03028") -> tuple[Dot, ...]:
    """Two rows of dots by hand, the outer one the outermost of all."""
    rng = np.random.default_rng(seed)
    dots = []
    for row, (radius, diameter) in enumerate(((104.0, 2.4), (92.0, 4.0))):
        for k in range(segments):
            angle = np.radians(360 / segments * k + rng.normal(0, 0.3))
            r = radius + rng.normal(0, 0.5)
            centre = (float(r * np.sin(angle)), float(-r * np.cos(angle)))
            dots.append(Dot(centre, diameter * float(rng.normal(1, 0.04)), colour, f"row{row}", k))
    return tuple(dots)


def measured(drawing: Drawing, seed: int):
    """Margins by the true map and marks, and the truth."""
    picture = photograph(drawing, scene(seed), seed)
    marks = true_marks(picture.truth, true_panel(picture.truth))
    found = find_margin(Photo(picture.pixels), marks)
    return found, true_margins(picture.truth)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_chalk_margins(seed: int) -> None:
    """Spokes and rings in chalk with diagonals, ticks and wiped ghosts about: within the intervals, none wide."""
    drawing = by_hand(seed, segments=8 + 2 * seed, rings=6, diagonals=seed % 2 == 0)
    found, truth = measured(drawing, seed)
    off = np.array([side.margin_mm for side in found.sides]) - truth
    u95 = np.array([side.u95_mm for side in found.sides])
    # One side in twenty may lie outside its interval; of these, fixed by their seeds, none lies far outside.
    assert (np.abs(off) <= 1.3 * u95).all(), (off, u95)
    assert np.median(u95) < 1.5


@pytest.mark.parametrize("seed", [4, 5])
def test_paint_beyond_the_chalk(seed: int) -> None:
    """Dots that reach beyond all chalk are found without being told of; strays in the margin are passed over."""
    drawing = by_hand(seed, segments=12, rings=5, ghosts=2)
    strays = (*drawing.strays, ((-120.0, 60.0), (-131.0, 75.0)), ((90.0, -128.0), (108.0, -122.0)))
    found, truth = measured(replace(drawing, dots=painted(seed), strays=strays), seed)
    assert {side.by for side in found.sides} == {"paint"}
    off = np.array([side.margin_mm for side in found.sides]) - truth
    assert np.sqrt(np.mean(off**2)) < 0.5
    assert (np.abs(off) <= 1.3 * np.array([side.u95_mm for side in found.sides])).all()


def test_unmarked_panel() -> None:
    """With no marks at all the pattern alone is enough, given how often it repeats."""
    picture = photograph(Drawing(dots=painted(6)), scene(6), 6)
    panel = true_panel(picture.truth)
    marks = Marks(panel, Centre(np.zeros(2), 0.01 * np.eye(2), "repeat"), None, 12, (), ())
    found = find_margin(Photo(picture.pixels), marks)
    truth = true_margins({**picture.truth, "spokes": [], "rings": []})
    assert np.abs(np.array([side.margin_mm for side in found.sides]) - truth).max() < 0.8


def test_off_the_middle() -> None:
    """A design drawn 4 mm right and 3 mm up of the middle is said to sit there."""
    dots = tuple(replace(d, centre_mm=(d.centre_mm[0] + 4.0, d.centre_mm[1] - 3.0)) for d in painted(7))
    picture = photograph(Drawing(centre_mark_mm=(4.0, -3.0), dots=dots), scene(7), 7)
    marks = Marks(
        true_panel(picture.truth), Centre(np.array([4.0, -3.0]), 0.01 * np.eye(2), "repeat"), None, 12, (), ()
    )
    x, y = find_margin(Photo(picture.pixels), marks).off_middle_mm
    assert (x, y) == pytest.approx((4.0, -3.0), abs=1.0)


def test_nothing_to_measure() -> None:
    """A bare panel has no margin, and says so."""
    picture = photograph(Drawing(), scene(8), 8)
    marks = Marks(true_panel(picture.truth), Centre(np.zeros(2), np.eye(2), "repeat"), None, 12, (), ())
    with pytest.raises(MarksError, match="Nothing that can be measured"):
        find_margin(Photo(picture.pixels), marks)


@pytest.mark.parametrize("rebate", [152.4, 400.0, -1.0])
def test_rebate_wider_than_the_panel(rebate: float) -> None:
    picture = photograph(Drawing(), scene(8), 8)
    marks = Marks(true_panel(picture.truth), Centre(np.zeros(2), np.eye(2), "repeat"), None, 12, (), ())
    with pytest.raises(InputError, match="would cover the whole panel"):
        find_margin(Photo(picture.pixels), marks, rebate_mm=rebate)
