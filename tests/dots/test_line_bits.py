"""What a chalk line leaves in the gaps between dots is no dot, though it repeats as they do."""

import cv2
import numpy as np
import pytest

from aligncheck.dots.line_bits import line_bits
from aligncheck.dots.measured import Measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

ORDER, RING_MM, PX, HALF_PX = 12, 50.0, 6.0, 400
CHALK, BLUE = np.array([0.6, 0.0, 0.0]), np.array([0.1, -0.1, 0.3])


def circle(picture: np.ndarray, xy_mm: np.ndarray, diameter_mm: float, colour: np.ndarray) -> None:
    middle = np.rint((xy_mm * PX + HALF_PX) * 16).astype(int)
    cv2.circle(picture, middle.tolist(), round(diameter_mm / 2 * PX * 16), colour.tolist(), -1, cv2.LINE_AA, 4)


def seen(dots: tuple[tuple[float, float, np.ndarray], ...]) -> DotView:
    """A chalk ring 1 mm wide, and dots on it: degrees from each spoke, diameter, colour."""
    picture = np.zeros((2 * HALF_PX + 1, 2 * HALF_PX + 1, 3), np.float32)
    cv2.circle(picture, (HALF_PX, HALF_PX), round(RING_MM * PX), CHALK.tolist(), round(PX), cv2.LINE_AA)
    for off_deg, diameter, colour in dots:
        for place in places(off_deg):
            circle(picture, place, diameter, colour)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return DotView(picture, picture / 0.01, PX, (HALF_PX, HALF_PX))


def places(off_deg: float) -> np.ndarray:
    a = np.radians(off_deg + 360 / ORDER * np.arange(ORDER))
    return RING_MM * np.column_stack([np.sin(a), -np.cos(a)])


def kind(off_deg: float, diameter_mm: float) -> Slots:
    """Circles of one kind, as first seen."""
    place, one = places(off_deg), np.ones(ORDER)
    rims = seeds(*(PX * place.T + HALF_PX), PX * diameter_mm / 2 * one)
    circles = Measured(place, diameter_mm / 2 * one, np.tile(CHALK, (ORDER, 1)), one, one, one, one, rims)
    return Slots(np.zeros(ORDER, np.int64), place, one > 0, circles, one, one < 0, one < 0)


#: Dots of 2.4 mm and 3.8 mm apart leave 1.4 mm of the line between them.
STEP_DEG = float(np.degrees(3.8 / RING_MM))
AROUND = tuple((side * STEP_DEG / 2, 2.4, BLUE) for side in (-1, 1))


@pytest.mark.parametrize(
    ("dots", "circle_mm", "a_bit"),
    [
        (AROUND, 1.4, True),
        ((*AROUND, (0.0, 2.0, CHALK)), 2.0, False),
        ((), 1.4, True),
        (((0.0, 2.0, CHALK), *((side * STEP_DEG * 0.6, 2.0, CHALK) for side in (-1, 1))), 2.0, False),
    ],
    ids=["a gap between dots", "a white dot in the gap", "the line alone", "white dots side by side"],
)
def test_what_is_no_wider_than_its_line_is_a_bit_of_it(dots: tuple, circle_mm: float, a_bit: bool) -> None:
    (looks,) = line_bits(seen(dots), kind(0.0, circle_mm), 1.0, np.zeros(2))
    assert looks > 0.6 if a_bit else looks < 0.4


def test_only_what_is_no_wider_than_lines_can_be_one() -> None:
    view = seen(AROUND)
    widths = [line_bits(view, kind(0.0, 1.4), line, np.zeros(2))[0] for line in (1.0, 0.6, 0.4, 0.3, 0.0)]
    assert widths == sorted(widths, reverse=True)
    assert widths[2] < 0.4
    assert widths[-2:] == [0.0, 0.0]


def test_small_white_dots_beside_a_bit_of_line_stay_dots() -> None:
    alone = seen(((0.0, 1.2, CHALK),))
    alone.away[:] = 0
    for place in places(0.0):
        circle(alone.away, place, 1.2, CHALK)
        circle(alone.away, place * (1 + 2.3 / RING_MM), 3.4, BLUE)
    assert line_bits(alone, kind(0.0, 1.2), 1.0, np.zeros(2))[0] < 0.4
