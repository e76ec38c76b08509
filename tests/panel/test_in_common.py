"""What is the panel's own and what is a photo's alone, together, is what one photo says by itself."""

from functools import lru_cache

import numpy as np
import pytest

from aligncheck.panel import Panel
from aligncheck.panel.in_common import BOWS, CUT, PLACE, ROUND, TURN, own_precision, shown_by
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.sides import fit_sides
from aligncheck.panel.square import out_of_square
from aligncheck.photo import Photo
from tests.render import Drawing, Finish, Light, Scene, Table, photograph
from tests.render import Panel as Drawn

SIZE_MM = 304.8


@lru_cache
def fitted() -> Panel:
    """A panel whose sides bow, seen aslant; nobody told its thickness."""
    panel = Drawn(depth_mm=18.0, surface_strength=0.0, side_bow_mm=(-0.3, -0.02, -0.2, 0.05), edge_round_mm=0.3)
    scene = Scene(panel, Table("plain", "#d0d0d0", strength=0.0), Light(ambient=0.9, contact=0.0, cast=0.0), Finish())
    picture = photograph(Drawing(), scene.seen((1200, 900), tilt_deg=14.0, azimuth_deg=200.0), 1)
    photo = Photo(picture.pixels)
    return fit_sides(photo, np.array(picture.truth["corners_px"]), SIZE_MM, SIZE_MM).panel(SIZE_MM, SIZE_MM)


@pytest.mark.parametrize("number", range(4))
def test_both_parts_make_the_kinds_of_one_photo(number: int) -> None:
    """Given what its sides say of their bows, each make has the mean and the covariance that one photo gives it."""
    panel = fitted()
    shown, kind = shown_by(panel), panel.kinds[number]
    precision, usual = own_precision(panel, shown.makes[number])
    precision[BOWS, BOWS] += shown.bow_precision
    pull = precision @ usual
    pull[BOWS] = pull[BOWS] - shown.bow_precision @ usual[BOWS] + shown.bow_pull
    spread = np.linalg.inv(precision)
    own, one = spread @ pull, shown.maps[number]
    cut = np.zeros((10, 10))
    cut[CUT, CUT] = out_of_square(SIZE_MM, SIZE_MM, kind.out_of_square_mm)
    np.testing.assert_allclose(one.mean + one.by_panel @ own, kind.mean, atol=1e-6)
    whole = one.covariance + one.by_panel @ spread @ one.by_panel.T - cut
    scale = np.sqrt(np.diag(kind.covariance))
    np.testing.assert_allclose(whole / np.outer(scale, scale), kind.covariance / np.outer(scale, scale), atol=0.02)


def test_a_part_is_shared_and_a_part_is_not() -> None:
    """Rounded edges and dents are the same in every photo; the corners are unsure beyond that."""
    panel = fitted()
    for one, kind in zip(shown_by(panel).maps, panel.kinds, strict=True):
        shared = np.diag(one.by_panel[:8, ROUND:] @ one.by_panel[:8, ROUND:].T)
        assert np.all(shared > 0.01**2)
        assert np.all(np.diag(one.covariance)[:8] > 0)
        assert np.all(np.diag(one.covariance)[:8] < np.diag(kind.covariance)[:8])


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_turned_by_quarters(quarters: int) -> None:
    """Turned clockwise, the top side is the right one, and corners move with the panel."""
    shown = shown_by(fitted())
    turned = shown.turned(quarters)
    turn = np.linalg.matrix_power(np.array([[0.0, -1.0], [1.0, 0.0]]), quarters)
    before, after = shown.maps[0].by_panel, turned.maps[0].by_panel
    for k in range(4):
        there = (k + quarters) % 4
        np.testing.assert_allclose(nominal_corners(1, 1)[there], turn @ nominal_corners(1, 1)[k], atol=1e-12)
        move = np.array([0.3, -0.1])
        np.testing.assert_allclose(
            after[:, CUT][:, 2 * there : 2 * there + 2] @ turn @ move, before[:, CUT][:, 2 * k : 2 * k + 2] @ move
        )
        for part in (BOWS, PLACE, TURN):
            np.testing.assert_allclose(after[:, part][:, there], before[:, part][:, k])
        assert turned.bow_pull[there] == pytest.approx(shown.bow_pull[k])
        assert turned.bow_precision[there, there] == pytest.approx(shown.bow_precision[k, k])
