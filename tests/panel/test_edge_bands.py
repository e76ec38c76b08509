"""Where a side face or a rounded edge shows as a band, the panel's own edge is told from the band's other one."""

import numpy as np
import pytest
from scipy.special import ndtr

from aligncheck.lens import Lens
from aligncheck.panel.edge_bands import ANY_FACE_GAIN, Band, bands_beside, with_band
from aligncheck.panel.edges import PIECES, Edges, locate_edges
from aligncheck.panel.rounded import SEAM_MM, rounding
from aligncheck.panel.strips import side_between
from tests.panel.drawn import Pose, true_panel

STRAIGHT = Lens(1200.0, 399.5, 299.5)
OFFSETS = np.arange(-7, 7.01, 0.5)


def side_and_profiles(levels, edges_px, seed=1):
    """A level side and profiles (PIECES, k, 3) of grey light with steps at `edges_px` outward, blurred by 0.9 px."""
    rng = np.random.default_rng(seed)
    light = np.full((PIECES, len(OFFSETS)), levels[0])
    for before, after, at in zip(levels[:-1], levels[1:], edges_px, strict=True):
        light += (after - before) * ndtr((OFFSETS - at) / 0.9)
    # A weave of some per cent, another in each piece, and noise.
    phase = rng.uniform(0, 6.3, (PIECES, 1))
    light += 0.02 * levels[0] * np.sin(OFFSETS * 1.9 + phase) * (edges_px[0] > OFFSETS)
    light += rng.normal(0, 0.001, light.shape)
    side = side_between(
        np.array([100.0, 300.0]), np.array([700.0, 300.0]), STRAIGHT, (np.arange(PIECES) + 0.5) / PIECES
    )
    return side, np.repeat(light[..., None], 3, axis=2).astype(np.float32)


def found(levels, edges_px, *bands: Band) -> tuple[Edges, Edges | None]:
    side, light = side_and_profiles(levels, edges_px)
    plain = locate_edges(side, light, 4.0, 1.0)
    return plain, with_band(plain, side, light, list(bands), 1.0, 0.95)


@pytest.mark.parametrize("wall", [0.02, 0.12])
def test_a_dark_side_face_is_no_part_of_the_face(wall):
    plain, banded = found((0.06, wall, 0.45), (-0.4, 2.0), Band(2.4, False))
    # One step lies at the face's outer edge, 2.4 px out.
    assert np.median(plain.offsets_px) > 1.5
    assert banded is not None and banded.banded
    assert np.median(banded.offsets_px) == pytest.approx(-0.4, abs=0.15)


def test_the_rounding_of_a_thick_panel_belongs_to_it():
    _plain, banded = found((0.13, 0.05, 0.30), (-2.2, 0.0), Band(2.2, True, 0.8))
    assert banded is not None
    assert np.median(banded.offsets_px) == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize(
    ("levels", "edges_px"),
    [
        ((0.06, 0.45, 0.45), (0.0, 2.0)),  # nothing but one step
        ((0.30, 0.34, 0.06), (-2.4, 0.0)),  # the shine of a bright edge before a dark ground
        ((0.88, 0.20, 0.205), (0.0, 3.0)),  # paper on a table, no second step
    ],
)
def test_one_step_stays_one_step(levels, edges_px):
    _plain, banded = found(levels, edges_px, Band(2.4, False))
    assert banded is None


def shaded_profiles(face, table, length_px, blur_px=0.9):
    """A level side and profiles of one step, beside which a shadow fades away over `length_px`."""
    rng = np.random.default_rng(4)
    fine = np.arange(-14, 14.01, 0.05)
    light = np.where(fine < 0, face, table * (1 - 0.5 * np.exp(-np.maximum(fine, 0) / length_px)))
    bell = np.exp(-((np.arange(-4, 4.01, 0.05) / blur_px) ** 2) / 2)
    blurred = np.interp(OFFSETS, fine, np.convolve(light, bell / bell.sum(), "same"))
    side, flat = side_and_profiles((0.0, 0.0), (0.0,))
    # The table's pattern grows with its light.
    pattern = 1 + rng.normal(0, 0.04, (PIECES, 1)) * (blurred > 2 * face)
    noise = rng.normal(0, 0.001, flat.shape[:2])
    return side, np.repeat((blurred * pattern + noise)[..., None], 3, axis=2).astype(np.float32)


@pytest.mark.parametrize("face", [0.02, 0.03])
@pytest.mark.parametrize("length_px", [3.0, 5.0])
def test_a_shadow_that_fades_beside_the_panel_is_no_side_face(face, length_px):
    side, light = shaded_profiles(face, 0.25, length_px)
    plain = locate_edges(side, light, 4.0, 1.0)
    bands = [Band(width, False, ANY_FACE_GAIN) for width in (1.5, 2.0, 2.7, 3.5, 4.5, 6.0)]
    assert with_band(plain, side, light, bands, 1.0, 0.95) is None


def test_a_dark_side_face_is_found_before_a_bright_patterned_table():
    """Where a place is a tenth as bright, a misfit a tenth as large tells as much."""
    rng = np.random.default_rng(5)
    side, light = side_and_profiles((0.04, 0.016, 0.35), (-3.8, 0.0))
    light = light + (rng.normal(0, 0.06, (PIECES, 1)) * ndtr((OFFSETS - 0.3) / 0.9)).astype(np.float32)[..., None]
    bands = [Band(width, False, ANY_FACE_GAIN) for width in (1.5, 2.0, 2.7, 3.5, 4.5, 6.0)]
    banded = with_band(locate_edges(side, light, 4.0, 1.0), side, light, bands, 1.0, 0.95)
    assert banded is not None
    assert np.median(banded.offsets_px) == pytest.approx(-3.8, abs=0.3)


def test_no_side_face_is_darker_than_black_or_just_like_the_face():
    band = Band(3.0, False, ANY_FACE_GAIN)
    assert band.believed(0.9, -0.02, 0.2, 0.03)
    assert not band.believed(0.9, -0.04, 0.2, 0.03)
    assert not band.believed(0.9, -0.001, 0.2, 0.03)


def test_a_side_face_of_unknown_width_is_found_by_its_width():
    bands = [Band(width, False, ANY_FACE_GAIN) for width in (1.5, 2.0, 2.7, 3.5, 4.5, 6.0)]
    plain, banded = found((0.06, 0.025, 0.40), (-1.5, 2.0), *bands)
    assert np.median(plain.offsets_px) > 1.5
    assert banded is not None
    # Its width is found roughly only; still better than 3.5 px off.
    assert abs(np.median(banded.offsets_px) + 1.5) < 1.2


def test_bands_follow_from_where_the_camera_stands():
    assert bands_beside(-0.2, 7.0, None, False) == []
    usual, *others = bands_beside(0.1, 7.0, None, False)
    assert (usual.width_px, usual.inside) == (pytest.approx(2.1), False)
    # Of any thickness from 2 to 45 mm, and to be believed only if they explain more.
    assert {b.width_px for b in others} == {1.5, 2.0, 2.7, 3.5, 4.5, 6.0}
    assert all(b.least_gain > usual.least_gain for b in others)
    assert [b.width_px for b in bands_beside(0.1, 7.0, 5.0, False)] == [pytest.approx(3.5)]
    # The foot of the side face shows further out: only a thick panel's rounding is left between.
    assert [b.inside for b in bands_beside(0.03, 7.0, None, True)] == [True]
    assert bands_beside(0.03, 7.0, 3.0, True) == []
    # So wide that they are two edges far apart.
    assert bands_beside(0.6, 7.0, None, False) == []


def test_where_the_thickness_is_told_flatter_side_faces_are_looked_at():
    assert bands_beside(0.01, 7.0, None, False) == []
    assert bands_beside(0.01, 7.0, 3.0, False) == []
    told = bands_beside(0.01, 7.0, 18.0, False)
    # The side face itself is 1.3 px wide, the seam at its foot makes it wider; nothing so narrow is taken on little.
    assert [b.width_px for b in told] == pytest.approx([1.26, 2.26, 3.26])
    assert {b.least_gain for b in told} == {ANY_FACE_GAIN}
    plain, banded = found((0.08, 0.04, 0.40), (-1.2, 1.0), *told)
    assert np.median(plain.offsets_px) > 0.7
    assert banded is not None
    assert np.median(banded.offsets_px) == pytest.approx(-1.2, abs=0.5)
    # One step, of a blur a little other than the lens's, stays one.
    assert found((0.08, 0.40, 0.40), (0.3, 2.0), *told)[1] is None


def test_a_dark_panels_seam_is_said_where_it_is_seen():
    # The camera stands above the left side.
    panel = true_panel(Pose(turn_deg=0, tilt_deg=0, shift_mm=(150.0, 0.0)))
    dark, bright = (rounding(panel, 3.0, outshines) for outshines in (0.0, 1.0))
    assert dark.slant[3] == pytest.approx(0, abs=1e-6)
    assert dark.merged_sd_mm[3] == pytest.approx(SEAM_MM)
    assert bright.merged_sd_mm[3] == pytest.approx(0, abs=1e-9)
    # The other sides lean over theirs.
    assert (dark.merged_sd_mm[:3] == 0).all()
