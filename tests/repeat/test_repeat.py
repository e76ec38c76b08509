"""The repeat test: the order found by itself, the odd place named, light no fault of the paint."""

import numpy as np
import pytest

from aligncheck.repeat import find_repeat, find_unmarked
from tests.repeat.pattern import SEGMENT, paint

CENTRE_MM = np.array([2.0, -3.0])


@pytest.mark.parametrize("order", [5, 8, 12, 18])
def test_the_order_is_found(order: int) -> None:
    """Not a part and not a multiple of it."""
    photo, panel = paint(order)
    assert find_repeat(photo, panel, CENTRE_MM).order == order


def test_a_missing_dot_is_the_first_departure() -> None:
    """Its segment's place leads the list, at the dot's radius."""
    photo, panel = paint(10, without=(3, 3))
    first = find_repeat(photo, panel, CENTRE_MM).departures[0]
    assert first.radius_mm == pytest.approx(SEGMENT[3][0], abs=1.5)
    assert first.angle_deg == pytest.approx(7 + 3 * 36, abs=2)
    assert first.colour > 20


def test_a_dot_of_another_colour_is_named() -> None:
    """Same place and size, other paint."""
    photo, panel = paint(10, other_colour=(6, 0))
    first = find_repeat(photo, panel, CENTRE_MM).departures[0]
    assert first.radius_mm == pytest.approx(SEGMENT[0][0], abs=1.5)
    assert first.angle_deg == pytest.approx(7 + 6 * 36, abs=3)


def test_a_faultless_piece_has_no_departure() -> None:
    """Dots that stray by a fifth of a millimetre are alike."""
    photo, panel = paint(10)
    assert find_repeat(photo, panel, CENTRE_MM).departures == ()


def test_uneven_light_is_no_departure() -> None:
    """A lamp that gives one side three times the light of the other: still alike, colours too."""
    photo, panel = paint(10, lamp=-0.5)
    repeat = find_repeat(photo, panel, CENTRE_MM)
    assert repeat.order == 10
    assert repeat.departures == ()
    even = find_repeat(*paint(10), CENTRE_MM)
    assert repeat.colour is not None
    assert even.colour is not None
    assert repeat.colour < even.colour + 2.0


def test_unfinished_segments_are_left_out() -> None:
    """A third not painted yet is not a fault; it is said."""
    photo, panel = paint(9, bare=(0, 1, 2), turn_deg=20.0)
    repeat = find_repeat(photo, panel, CENTRE_MM, 9)
    assert len(repeat.left_out) == 3


def test_the_centre_of_an_unmarked_piece() -> None:
    """To a few tenths of a millimetre, within its u95."""
    found = find_unmarked(*paint(12))
    assert found is not None
    centre, repeat = found
    assert repeat.order == 12
    assert np.hypot(*(centre.xy_mm - CENTRE_MM)) < max(0.3, centre.u95_mm)


def test_nothing_repeats_on_a_bare_panel() -> None:
    """Noise does not turn about anything."""
    assert find_unmarked(*paint(0)) is None
