"""Straight sides may be a board's, sides that bow each in its own way are a canvas's; what a lens does is neither."""

from functools import lru_cache

import numpy as np
import pytest

from aligncheck.panel.kind import Kind, makes_of
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.rounded import DEEP_RADIUS_MM, THIN_RADIUS_MM, rounding
from aligncheck.panel.side_fit import SideFit
from aligncheck.panel.sides import fit_sides
from aligncheck.photo import Photo
from tests.panel.drawn import Pose, true_panel
from tests.render import Drawing, Finish, Light, Panel, Scene, Table, photograph

SIZE_PX, SIZE_MM = (1600, 1200), 304.8
STRAIGHT, PULLED = (0.0, 0.0, 0.0, 0.0), (0.3, 0.02, 0.2, -0.05)


@lru_cache
def seen(bows_mm: tuple[float, ...], k1: float = 0.0, round_mm: float = 0.1) -> tuple[Photo, np.ndarray]:
    """A panel pulled in by `bows_mm` in the middles of its sides, as a lens with this bend shows it; its corners."""
    a, b, c, d = (-bow for bow in bows_mm)
    panel = Panel(depth_mm=18.0, surface_strength=0.0, side_bow_mm=(a, b, c, d), edge_round_mm=round_mm)
    scene = Scene(panel, Table("plain", "#d0d0d0", strength=0.0), Light(ambient=0.9, contact=0.0, cast=0.0), Finish())
    picture = photograph(Drawing(), scene.seen(SIZE_PX, tilt_deg=6.0, k1=k1), 1)
    return Photo(picture.pixels), np.array(picture.truth["corners_px"])


def fitted(bows_mm: tuple[float, ...], depth_mm: float | None = None, k1: float = 0.0, **how: float) -> SideFit:
    photo, corners = seen(bows_mm, k1, **how)
    return fit_sides(photo, corners, SIZE_MM, SIZE_MM, depth_mm=depth_mm)


def deep_share(kinds: tuple[Kind, ...], depth_mm: float | None = None) -> float:
    """How likely the panel is deep, and pulled in by cloth."""
    return sum(k.share for k, make in zip(kinds, makes_of(depth_mm), strict=True) if make.deep)


@pytest.mark.parametrize("k1", [0.0, 0.04])
def test_straight_sides_are_not_pulled(k1: float) -> None:
    """However the lens bends all four; it may still be a cradled board."""
    kinds = fitted(STRAIGHT, k1=k1).kinds
    assert kinds[-1].share < 0.05
    assert 0.08 < deep_share(kinds) < 0.15


def test_sides_that_bow_each_in_its_own_way_are_a_canvas_s() -> None:
    """Tenths of a millimetre, as cloth pulls bars; told a canvas, the pulled one of both."""
    assert fitted(PULLED).kinds[-1].share > 0.9
    assert fitted(PULLED, depth_mm=18.0).kinds[-1].share > 0.95


def test_a_given_thickness_is_believed() -> None:
    """What the painter says is not asked of the sides."""
    assert deep_share(fitted(PULLED, depth_mm=3.0).kinds, 3.0) == 0.0
    assert deep_share(fitted(STRAIGHT, depth_mm=38.0).kinds, 38.0) == pytest.approx(1.0)


def test_each_kind_s_map_is_nearer_to_the_truth_where_it_is_the_truth() -> None:
    """Bowed sides, soft edges: with the canvas's own mean the bend is nearer to nought, what it is, than without."""
    found = fitted((0.2, 0.1, 0.15, 0.1), round_mm=0.35)
    canvas, board = found.kinds[-1], found.kinds[0]

    def bend(mean: np.ndarray) -> float:
        # At the panel's corners, where both terms act together.
        r = 0.35
        return abs((found.lens.k1 + mean[8]) * r**2 + (found.lens.k2 + mean[9]) * r**4)

    assert bend(canvas.mean) < 0.8 * bend(board.mean)
    # A deep panel's soft edge is seen further in than a board's: what was found lies inside its corners.
    straight = found.kinds[2]
    inward = -np.sign(nominal_corners(SIZE_MM, SIZE_MM)) * (straight.mean - board.mean)[:8].reshape(4, 2)
    assert np.all(inward > 0.01)


def test_edges_of_a_kind_are_those_of_its_thickness() -> None:
    """Where the thickness is unknown, a board's edges are as sharp as told a board; either may be between."""
    panel = true_panel(Pose())
    told, board = rounding(panel, 3.0), rounding(panel, None, deep=False)
    assert board.shift_mm == pytest.approx(told.shift_mm)
    assert board.radius_sd_mm == told.radius_sd_mm == THIN_RADIUS_MM[1]
    assert rounding(panel, None, deep=True).radius_sd_mm == DEEP_RADIUS_MM[1]
    any_ = rounding(panel, None)
    assert np.all(np.abs(any_.shift_mm) >= np.abs(board.shift_mm))
