"""A panel's own bowed sides are not taken for the lens's bend."""

import numpy as np
import pytest

from aligncheck.panel.side_bow import DEEP, STRAIGHT, UNKNOWN, Bow, bow_design, bow_precision
from aligncheck.panel.sides import fit_sides
from aligncheck.photo import Photo
from tests.render import Drawing, Finish, Light, Panel, Scene, Table, photograph

SIZE_PX = (1600, 1200)


def bowed(bow_mm: float) -> tuple[Photo, dict]:
    """A canvas whose four sides are all pulled in by `bow_mm` before a lens without any bend."""
    panel = Panel(depth_mm=18.0, surface_strength=0.0, side_bow_mm=(-bow_mm,) * 4)
    scene = Scene(panel, Table("plain", "#d0d0d0", strength=0.0), Light(ambient=0.9, contact=0.0, cast=0.0), Finish())
    picture = photograph(Drawing(), scene.seen(SIZE_PX, tilt_deg=6.0), 1)
    return Photo(picture.pixels), picture.truth


def test_design_is_even_and_without_mean() -> None:
    """A bow neither shifts nor turns its side, and changes by 1.5 from the middle to the ends."""
    design = bow_design([64, 64, 64, 64])
    assert np.abs(design.mean(0)).max() < 1e-3
    assert design[0, 0] - design[31, 0] == pytest.approx(1.5, abs=0.05)
    assert not design[:64, 1:].any()


def test_canvases_bow_most() -> None:
    """A fit allows canvases more than what may be either, and that more than boards."""
    assert STRAIGHT < UNKNOWN < DEEP


def test_bows_are_each_side_s_own_and_common() -> None:
    """Two pixels a mm: terms of two thirds of a bow; what is common shows in the covariances."""
    corners = np.array([[0, 0], [600, 0], [600, 600], [0, 600.0]])
    spread = np.linalg.inv(bow_precision(corners, 300.0, 300.0, Bow(0.15, 0.3)))
    assert np.diag(spread) == pytest.approx(np.full(4, 0.2**2 + 0.4**2))
    assert spread[0, 1:] == pytest.approx(np.full(3, 0.4**2))


def test_bowed_sides_are_within_what_is_said_of_the_bend() -> None:
    """Sides pulled in by a quarter of a millimetre: the bend stays within its 95 % interval, told a canvas."""
    photo, truth = bowed(0.25)
    found = fit_sides(photo, np.array(truth["corners_px"]), 304.8, 304.8, depth_mm=18.0)
    # What bend and claim make at the panel's corners, where the two terms act together.
    focal = truth["camera"]["f_px"]
    r = float(np.linalg.norm(np.array(truth["corners_px"]) - [800, 600], axis=1).mean()) / focal
    terms = np.array([r**3, r**5]) * focal
    sd = float(np.sqrt(terms @ found.covariance[8:, 8:] @ terms))
    off = abs(float(terms @ [found.lens.k1, found.lens.k2]))
    assert off <= 1.5 * 1.96 * sd
    # It would not hold for a board, whose sides are cut straight.
    board = fit_sides(photo, np.array(truth["corners_px"]), 304.8, 304.8, depth_mm=3.0)
    assert float(np.sqrt(terms @ board.covariance[8:, 8:] @ terms)) < 0.6 * sd


def test_straight_sides_give_the_bend_as_before() -> None:
    """A lens that bends, straight sides: its bend is found to a tenth of what it does at the corners."""
    panel = Panel(surface_strength=0.0)
    scene = Scene(panel, Table("plain", "#d0d0d0", strength=0.0), Light(ambient=0.9, contact=0.0, cast=0.0), Finish())
    scene = scene.seen(SIZE_PX, tilt_deg=6.0, k1=0.04)
    picture = photograph(Drawing(), scene, 2)
    found = fit_sides(Photo(picture.pixels), np.array(picture.truth["corners_px"]), 304.8, 304.8)
    assert found.lens.k1 + 0.25 * found.lens.k2 == pytest.approx(0.04, abs=0.006)
