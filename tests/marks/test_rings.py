"""Rings on drawn layouts: radii, centres and intervals; which candidates are rings."""

import numpy as np
import pytest

from aligncheck.geometry.angles import outward
from aligncheck.geometry.uncertainty import NORMAL_95, u95_number
from aligncheck.marks import ring_fit
from aligncheck.marks.detect import detect
from aligncheck.marks.ring_choice import find_spacing
from aligncheck.marks.rings import measure_rings
from aligncheck.marks.spokes import measure_spokes
from aligncheck.photo import Photo
from tests.closeness import assert_mostly_within, assert_within
from tests.marks.layouts import DrawnLayout, DrawnRing, even_rings, photograph


def measured(layout):
    photo, panel = photograph(layout)
    seen = detect(photo, panel)
    return measure_rings(photo, panel, seen, measure_spokes(photo, panel, seen))


def test_radii_and_centres_are_right_within_their_intervals():
    """Twenty-one rings, each with its own centre: as many intervals hold as should, and they are hundredths wide."""
    errors, u95s = [], []
    for seed in (1, 2, 3):
        rng = np.random.default_rng(seed)
        rings = tuple(DrawnRing(13.0 * k + rng.normal(0, 0.4), tuple(rng.normal(0, 0.3, 2))) for k in range(1, 8))
        found = measured(DrawnLayout(10, rings=rings, seed=seed))
        assert len(found) == len(rings)
        for ring, truth in zip(found, rings, strict=True):
            errors.append(ring.radius_mm - truth.radius_mm)
            u95s.append(u95_number(ring.covariance[0, 0]))
            errors += list(ring.centre_mm - truth.centre_mm)
            u95s += [NORMAL_95 * np.sqrt(ring.covariance[i, i]) for i in (1, 2)]
            assert u95_number(ring.covariance[0, 0]) < 0.05
    assert_mostly_within(errors, u95s)


def test_a_path_that_stands_off_is_a_true_circle():
    """Laid out about a point 1.3 mm off its centre, a circle stays round and keeps its radius (else 0.04 mm less)."""
    terms = np.zeros(ring_fit.TERMS)
    terms[:3] = 12.0, 1.0, -0.85
    points = ring_fit.distances(terms, 360)[:, None] * outward(np.arange(360.0))
    np.testing.assert_allclose(np.hypot(*(points - terms[1:3]).T), 12.0, atol=1e-9)


def test_rings_that_stand_off_the_spokes_centre_keep_their_radius():
    """Twelve rings, each 1.3 mm aside of the spokes' centre: on average not smaller than drawn."""
    errors = []
    for seed in (1, 2):
        found = measured(DrawnLayout(10, rings=even_rings(6, 12.0, centre_mm=(1.0, -0.85)), seed=seed))
        errors += [ring.radius_mm * (ring.radius_mm - 12.0 * (k + 1)) for k, ring in enumerate(found)]
    assert len(errors) == 12
    # The wrong path gives -1.3^2 / 4 = -0.43 mm^2, a hand's dabs -0.1.
    assert np.mean(errors) == pytest.approx(-0.05, abs=0.15)


def test_a_ring_out_of_round_is_its_least_squares_circle():
    """Waves and missing arcs shift neither radius nor centre beyond the interval; the roundness is seen."""
    waves = ((2, 0.25, -0.1), (3, -0.12, 0.1))
    rings = tuple(DrawnRing(14.0 * k, waves=waves, gaps_deg=((40, 75), (200, 216))) for k in range(1, 7))
    found = measured(DrawnLayout(8, rings=rings))
    for ring, truth in zip(found, rings, strict=True):
        assert_within(ring.radius_mm, u95_number(ring.covariance[0, 0]), truth.radius_mm)
    true_roundness = np.ptp(
        [sum(c * np.cos(k * t) + s * np.sin(k * t) for k, c, s in waves) for t in np.arange(0, 6.3, 0.01)]
    )
    assert found[-1].roundness_mm == pytest.approx(true_roundness, abs=0.06)


def test_wiped_rings_are_left_out_and_rubbed_rings_kept():
    """A faint circle between the rings is an earlier layout's; a third of a ring where one belongs is a ring."""
    rings = list(even_rings(6, 15.0))
    rings[1] = DrawnRing(30.0, gaps_deg=tuple((a, a + 40) for a in range(0, 360, 60)))
    layout = DrawnLayout(12, rings=(*rings, DrawnRing(52.0, (0.5, 0.3), 0.3), DrawnRing(67.0, (0.5, 0.3), 0.3)))
    radii = [ring.radius_mm for ring in measured(layout)]
    assert np.round(radii) == pytest.approx([15, 30, 45, 60, 75, 90])


def test_every_second_ring_in_another_chalk():
    """Dark red on grey is faint in grey and plain in red; a wiped film of the same chalk is faint in every colour."""
    white = tuple(DrawnRing(13.0 * k) for k in (2, 4, 6))
    red = tuple(DrawnRing(13.0 * k) for k in (1, 3, 5))
    film = (DrawnRing(60.0, strength=0.3), DrawnRing(33.0, strength=0.3))
    drawn, panel = photograph(DrawnLayout(10, rings=(*white, *film), seed=5))
    bare, more = (photograph(DrawnLayout(0, rings=rings, seed=5))[0] for rings in ((), red))
    chalk = more.rgb.astype(float) - bare.rgb.astype(float)
    photo = Photo(np.clip(drawn.rgb + chalk * (0.75, 0.15, -0.1), 0, 255).astype(np.uint8))
    seen = detect(photo, panel)
    found = measure_rings(photo, panel, seen, measure_spokes(photo, panel, seen))
    assert np.round([ring.radius_mm for ring in found]) == pytest.approx([13, 26, 39, 52, 65, 78])


def test_bare_panel_between_spokes_is_no_ring():
    """Spokes without rings: nothing that runs round the centre by chance is called one."""
    for seed in (1, 2, 3):
        assert measured(DrawnLayout(8, width_mm=1.4, seed=seed)) == ()


def test_rings_without_even_spacing_are_found():
    """Radii of no common spacing, as on a dartboard."""
    true = (15.9, 49.5, 54.5, 81.0, 85.5)
    found = measured(
        DrawnLayout(20, rings=tuple(DrawnRing(r) for r in true), reach_mm=86.0, inner_mm=16.0, width_mm=0.8)
    )
    assert [ring.radius_mm for ring in found] == pytest.approx(true, abs=0.05)


@pytest.mark.parametrize(
    ("radii", "spacing"),
    [
        ([12.2, 25.3, 38.7, 50.5], 12.67),
        ([38.5, 49.7, 88.6, 101.2], 12.64),
        ([20.0, 40.0], 20.0),
        ([6.35, 15.9, 99.0, 107.0, 162.0, 170.0], None),
        ([12.5], None),
    ],
)
def test_spacing(radii, spacing):
    """The spacing is the largest that all rings are multiples of; rings hidden inside do not count against it."""
    found = find_spacing(np.array(radii))
    assert found == (None if spacing is None else pytest.approx(spacing, abs=0.1))
