"""Straight sides are a board's, sides that bow each in its own way a canvas's; what a lens does is neither."""

import numpy as np
import pytest

from aligncheck.panel.kind import DEEP_SHARE, PULLED_SHARE, Kind, kind_of, mixed
from aligncheck.panel.rounded import THIN_RADIUS_MM, rounding
from aligncheck.panel.side_bow import PULLED, STRAIGHT, UNKNOWN
from aligncheck.panel.side_fit import SideFit
from aligncheck.panel.sides import fit_sides
from aligncheck.photo import Photo
from tests.panel.drawn import Pose, true_panel
from tests.render import Drawing, Finish, Light, Panel, Scene, Table, photograph

SIZE_PX = (1600, 1200)


def fitted(bows_mm: tuple[float, ...], depth_mm: float | None = None, k1: float = 0.0) -> SideFit:
    """The sides of a panel pulled in by `bows_mm` in their middles, as a lens with this bend shows them."""
    a, b, c, d = (-bow for bow in bows_mm)
    panel = Panel(depth_mm=18.0, surface_strength=0.0, side_bow_mm=(a, b, c, d))
    scene = Scene(panel, Table("plain", "#d0d0d0", strength=0.0), Light(ambient=0.9, contact=0.0, cast=0.0), Finish())
    picture = photograph(Drawing(), scene.seen(SIZE_PX, tilt_deg=6.0, k1=k1), 1)
    return fit_sides(Photo(picture.pixels), np.array(picture.truth["corners_px"]), 304.8, 304.8, depth_mm=depth_mm)


@pytest.mark.parametrize("k1", [0.0, 0.04])
def test_straight_sides_are_not_pulled(k1: float) -> None:
    """However the lens bends all four; it may still be a cradled board."""
    least = DEEP_SHARE - PULLED_SHARE
    assert least < fitted((0.0, 0.0, 0.0, 0.0), k1=k1).deep < least + 0.05


def test_sides_that_bow_each_in_its_own_way_are_a_canvas_s() -> None:
    """Tenths of a millimetre, as cloth pulls bars."""
    assert fitted((0.3, 0.02, 0.2, -0.05)).deep > 0.9


def test_a_given_thickness_is_believed() -> None:
    """What the painter says is not asked of the sides."""
    assert fitted((0.3, 0.02, 0.2, -0.05), depth_mm=3.0).deep == 0.0
    assert fitted((0.0, 0.0, 0.0, 0.0), depth_mm=38.0).deep == 1.0
    assert [kind_of(depth) for depth in (3.0, 38.0)] == [Kind(0.0, 0.0), Kind(1.0, 1.0)]


def test_mixtures_have_the_spread_of_draws_from_both_kinds() -> None:
    """Rounding and bows: a million draws."""
    rng = np.random.default_rng(4)
    deep = rng.random(1_000_000) < DEEP_SHARE
    draws = np.where(deep, rng.normal(3.0, 2.0, deep.size), rng.normal(1.0, 0.5, deep.size))
    assert mixed(DEEP_SHARE, 0.5, 2.0, apart=2.0) == pytest.approx(draws.std(), rel=5e-3)
    pulled = rng.random(deep.size) < PULLED_SHARE
    bows = np.where(
        pulled,
        rng.normal(PULLED.inward_mm, PULLED.common_mm, deep.size),
        rng.normal(0.0, STRAIGHT.common_mm, deep.size),
    )
    assert tuple(UNKNOWN)[1:] == pytest.approx((bows.std(), bows.mean()), rel=0.01)


def test_a_board_s_edges_are_as_sharp_whether_it_was_told_or_seen() -> None:
    """The kind alone decides on the rounding; unknown lies between."""
    panel = true_panel(Pose())
    told, seen, unknown = rounding(panel, 3.0), rounding(panel, None, kind=Kind(0.0, 0.0)), rounding(panel, None)
    assert told.radius_sd_mm == seen.radius_sd_mm == THIN_RADIUS_MM[1] < unknown.radius_sd_mm
    assert seen.shift_mm == pytest.approx(told.shift_mm)
