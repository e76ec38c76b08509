"""Dots drawn on a flat panel with known truth: found, measured, missing and too big ones named, and nothing more."""

from typing import Any

import cv2
import numpy as np
import pytest

from aligncheck.dots import Dots, find_dots
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks, Ring, Spoke
from aligncheck.panel import Panel
from aligncheck.photo import Photo

ORDER, SIDE_MM, PX_PER_MM = 12, 240.0, 7.0
#: Radius from the centre, degrees off the spoke, diameter, colour (RGB).
KINDS = [
    (24.0, 0.0, 6.0, (230, 200, 60)),
    (36.0, 15.0, 4.0, (60, 140, 190)),
    (48.0, 5.0, 2.4, (220, 215, 200)),
    (62.0, 0.0, 9.0, (200, 60, 60)),
    (80.0, 15.0, 5.0, (90, 60, 120)),
]


def panel_and_marks(centre: tuple[float, float]) -> tuple[Panel, Marks]:
    lens = Lens(2500.0, 1000.0, 850.0, 0.0, 0.0, "profile")
    corners = np.array([[60.0, 40.0], [1740.0, 40.0], [1740.0, 1720.0], [60.0, 1720.0]])
    panel = Panel.from_corners(SIDE_MM, SIDE_MM, lens, corners)
    middle = np.array(centre)
    spokes = []
    for k in range(ORDER):
        way = np.array([np.sin(2 * np.pi * k / ORDER), -np.cos(2 * np.pi * k / ORDER)])
        spokes.append(Spoke(middle + 10 * way, middle + 95 * way, 1e-4 * np.eye(2), 1.0, (0.1, 0.1), place=k))
    ring = Ring(middle, 70.0, 1e-4 * np.eye(3), 1.0)
    return panel, Marks(panel, Centre(middle, 1e-4 * np.eye(2), "mark"), None, ORDER, tuple(spokes), (ring,))


def draw(ground: int, faults: bool, seed: int = 1, dots: bool = True) -> tuple[Photo, Marks, list[dict[str, Any]]]:
    """A panel of grey `ground` seen straight from above; with faults kind 3 lacks a dot, kind 1 has a big one."""
    panel, marks = panel_and_marks((1.5, -2.0))
    rng = np.random.default_rng(seed)
    fine = 4
    image = np.full((1760 * fine // 2, 1800 * fine // 2, 3), 128, np.uint8)
    shift = 6

    def spot(point_mm: Any) -> tuple[int, int]:
        px = (panel.to_photo(point_mm) + 0.5) * (fine / 2) - 0.5
        return round(px[0] * 2**shift), round(px[1] * 2**shift)

    a, b = spot([-SIDE_MM / 2, -SIDE_MM / 2]), spot([SIDE_MM / 2, SIDE_MM / 2])
    cv2.rectangle(image, a, b, (ground,) * 3, -1, cv2.LINE_AA, shift)
    for line in marks.spokes:
        cv2.line(image, spot(line.inner_mm), spot(line.outer_mm), (200,) * 3, round(PX_PER_MM * fine / 2), 16, shift)
    truth: list[dict[str, Any]] = []
    for kind, (radius, off, diameter, colour) in enumerate(KINDS if dots else []):
        for k in range(ORDER):
            angle = np.radians(off + 30 * k)
            centre = marks.centre.xy_mm + radius * np.array([np.sin(angle), -np.cos(angle)]) + rng.normal(0, 0.2, 2)
            size = diameter * rng.normal(1, 0.02)
            big, gone = faults and (kind, k) == (1, 2), faults and (kind, k) == (3, 7)
            size = 1.35 * diameter if big else size
            truth.append({"centre": centre, "diameter": size, "kind": kind, "big": big, "missing": gone})
            if not gone:
                r = size / 2 * PX_PER_MM * fine / 2
                cv2.circle(image, spot(centre), round(r * 2**shift), colour, -1, 16, shift)
                light = tuple(min(255, c + 60) for c in colour)
                cv2.circle(image, spot(centre - size * 0.15), round(0.18 * r * 2**shift), light, -1, 16, shift)
    small = cv2.resize(image, None, fx=2 / fine, fy=2 / fine, interpolation=cv2.INTER_AREA)
    noisy = cv2.GaussianBlur(small, (0, 0), 0.7) + rng.normal(0, 2.0, small.shape)
    return Photo(np.clip(noisy, 0, 255).astype(np.uint8)), marks, truth


def found_for(dots: Dots, truth: dict[str, Any]) -> Any:
    """The one dot found within the true dot."""
    near = [d for d in dots.dots if np.hypot(*(d.centre_mm - truth["centre"])) < truth["diameter"] / 2]
    assert len(near) == 1, (truth, near)
    return near[0]


@pytest.fixture(scope="module", params=[40, 225])
def faulty(request: pytest.FixtureRequest) -> tuple[Dots, list[dict[str, Any]]]:
    photo, marks, truth = draw(request.param, faults=True)
    dots = find_dots(photo, marks, ORDER)
    assert dots is not None
    return dots, truth


def test_every_dot_is_found_once_and_nothing_else(faulty: Any) -> None:
    """Dots of five colours, on a dark and on a pale panel."""
    dots, truth = faulty
    there = [t for t in truth if not t["missing"]]
    for one in there:
        found_for(dots, one)
    assert len(dots.dots) == len(there)


def test_centres_and_diameters_hold_their_intervals(faulty: Any) -> None:
    """95 % is claimed; a share of the 59 dots may stand outside: 1 in 10 at the most."""
    dots, truth = faulty
    pairs = [(found_for(dots, t), t) for t in truth if not t["missing"]]
    inside = [abs(d.diameter_mm - t["diameter"]) <= d.diameter_u95_mm for d, t in pairs]
    assert np.mean(inside) >= 0.9
    near = [np.hypot(*(d.centre_mm - t["centre"])) <= d.centre_u95_mm for d, t in pairs]
    assert np.mean(near) >= 0.9
    # A tenth of a millimetre is seven tenths of a pixel: intervals that wide would say nothing.
    assert np.median([d.diameter_u95_mm for d, _ in pairs]) < 0.35


def test_the_missing_and_the_big_dot_are_named_alone(faulty: Any) -> None:
    dots, truth = faulty
    (gap,) = dots.missing
    (gone,) = [t for t in truth if t["missing"]]
    assert np.hypot(*(gap.centre_mm - gone["centre"])) < 1.5
    (big,) = dots.oversize
    (true_big,) = [t for t in truth if t["big"]]
    assert np.hypot(*(big.centre_mm - true_big["centre"])) < 0.5


def test_an_even_piece_has_no_fault() -> None:
    photo, marks, _ = draw(40, faults=False, seed=3)
    dots = find_dots(photo, marks, ORDER)
    assert dots is not None
    assert not dots.missing
    assert not dots.oversize
    assert len(dots.kinds) == len(KINDS)
    assert all(kind.count == ORDER for kind in dots.kinds)


def test_lines_alone_are_no_dots() -> None:
    """Spokes on bare ground: crossings and ends are round, and no dots."""
    photo, marks, _ = draw(40, faults=False, dots=False)
    assert find_dots(photo, marks, ORDER) is None


def test_a_setting_decides_what_is_too_big() -> None:
    """With 1.5 times allowed the dot of 1.35 times is none."""
    photo, marks, _ = draw(40, faults=True)
    dots = find_dots(photo, marks, ORDER, oversize=1.5)
    assert dots is not None
    assert not dots.oversize


def test_a_centre_taken_wrongly_is_put_right() -> None:
    """Paint hides the mark; whatever was taken for it 3 mm away, the dots say where they turn about."""
    photo, marks, truth = draw(40, faults=True)
    wrong = marks.centre.xy_mm + (2.5, -1.8)
    dots = find_dots(photo, marks, ORDER, wrong)
    assert dots is not None
    assert np.hypot(*(dots.centre_mm - marks.centre.xy_mm)) < 0.15
    there = [t for t in truth if not t["missing"]]
    assert len(dots.dots) == len(there)
    for one in there:
        found_for(dots, one)
