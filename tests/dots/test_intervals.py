"""What the dots' intervals are made of."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.dots import find_dots
from aligncheck.dots.intervals import LIGHT_PLACE, LIGHT_SIZE, diameter_u95, on_the_panel, place_u95
from aligncheck.dots.measured import measured
from aligncheck.dots.rims import Rims
from aligncheck.dots.view import dot_view
from aligncheck.geometry.uncertainty import u95_point
from tests.dots.painted import PIECE, Painting


@pytest.fixture(scope="module")
def found():
    photo, marks = Painting(PIECE, seed=11).draw()
    return find_dots(photo, marks, 12), marks.panel


def test_the_maps_part_of_a_place_adds_as_a_variance_and_leaves_diameters_alone(found):
    dots, panel = found
    unsure = replace(panel, covariance=0.1**2 * np.eye(10) * np.r_[np.ones(8), 0, 0])
    wide = on_the_panel(dots, unsure)
    for before, after in list(zip(dots.dots, wide.dots, strict=True))[::7]:
        own = before.centre_u95_mm**2 / (-2 * np.log(0.05)) * np.eye(2)
        assert after.centre_u95_mm == pytest.approx(
            u95_point(own + unsure.point_covariance(before.centre_mm)), rel=0.01
        )
        assert after.centre_u95_mm > 1.2 * before.centre_u95_mm
        assert after.diameter_u95_mm == before.diameter_u95_mm


def test_a_coarse_photo_claims_less():
    fine, marks = Painting(PIECE, seed=12).draw()
    coarse = replace(fine, rgb=np.ascontiguousarray(fine.rgb[::2, ::2]))
    half = replace(
        marks.panel.lens, focal_px=1250.0, cx_px=marks.panel.lens.cx_px / 2, cy_px=marks.panel.lens.cy_px / 2
    )
    panel = type(marks.panel).from_corners(
        marks.panel.width_mm, marks.panel.height_mm, half, marks.panel.corners_px / 2
    )
    one, other = find_dots(fine, marks, 12), find_dots(coarse, replace(marks, panel=panel), 12)
    assert np.median([d.diameter_u95_mm for d in other.dots]) > 1.25 * np.median([d.diameter_u95_mm for d in one.dots])
    assert np.median([d.centre_u95_mm for d in other.dots]) > 1.25 * np.median([d.centre_u95_mm for d in one.dots])


def test_a_dome_told_by_its_light_alone_claims_less():
    photo, marks = Painting(PIECE, seed=11).draw()
    circles = measured(
        dot_view(photo, marks.panel), Rims(*(np.full(1, v) for v in (800.0, 800.0, 25.0, 1.0, 0.3, 1.0))), np.zeros(2)
    )
    for u95, share in ((diameter_u95, LIGHT_SIZE), (place_u95, LIGHT_PLACE)):
        rim, light = (u95(circles, 6.6, np.array([told]))[0] for told in (False, True))
        assert light > 1.3 * rim
        assert light > 1.9 * share * 2 * circles.radius_mm[0]
