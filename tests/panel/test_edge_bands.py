"""Where a side face or a rounded edge shows as a band, the panel's own edge is told from the band's other one."""

import numpy as np
import pytest
from scipy.special import ndtr

from aligncheck.lens import Lens
from aligncheck.panel.edge_bands import Band, band_beside, with_band
from aligncheck.panel.edges import PIECES, Edges, locate_edges
from aligncheck.panel.strips import side_between

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


def found(levels, edges_px, band: Band) -> tuple[Edges, Edges | None]:
    side, light = side_and_profiles(levels, edges_px)
    plain = locate_edges(side, light, 4.0, 1.0)
    return plain, with_band(plain, side, light, band, 1.0, 0.95)


@pytest.mark.parametrize("wall", [0.02, 0.12])
def test_a_dark_side_face_is_no_part_of_the_face(wall):
    plain, banded = found((0.06, wall, 0.45), (-0.4, 2.0), Band(2.4, False))
    # One step lies at the face's outer edge, 2.4 px out.
    assert np.median(plain.offsets_px) > 1.5
    assert banded is not None and banded.banded
    assert np.median(banded.offsets_px) == pytest.approx(-0.4, abs=0.15)


def test_the_rounding_of_a_thick_panel_belongs_to_it():
    _plain, banded = found((0.13, 0.05, 0.30), (-2.2, 0.0), Band(2.2, True))
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


def test_bands_follow_from_where_the_camera_stands():
    assert band_beside(-0.2, 7.0, None) is None
    assert band_beside(0.1, 7.0, None) == Band(pytest.approx(2.1), False)
    assert band_beside(0.1, 7.0, 5.0) == Band(pytest.approx(3.5), False)
    # Flatter still: only a thick panel's rounding would show.
    assert band_beside(0.03, 7.0, None) == Band(pytest.approx(2.1), True)
    assert band_beside(0.03, 7.0, 3.0) is None
    # Wide enough to be two edges far apart.
    assert band_beside(0.4, 7.0, None) is None
