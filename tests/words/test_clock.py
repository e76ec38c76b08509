"""Clock positions: each spoke has its own."""

import pytest

from aligncheck.words.clock import spoke_positions


@pytest.mark.parametrize("n", range(1, 61))
@pytest.mark.parametrize("turn_deg", [0.0, 1.3, 3.75, 5.62, 7.5, 11.25, 14.999])
def test_no_two_spokes_share_a_name(n, turn_deg):
    """However many spokes, and however the layout is turned, also by exactly a quarter hour."""
    names = spoke_positions([turn_deg + 360.0 * k / n for k in range(n)], n)
    assert len(set(names)) == n


def test_up_to_24_go_by_the_half_hour():
    """Angles that rounding errors push to either side of a quarter hour are named alike."""
    angles = [7.5 + 15.0 * k + (-1) ** k * 1e-9 for k in range(24)]
    assert spoke_positions(angles, 24)[:3] == ("half past 12", "1 o'clock", "half past 1")
    assert spoke_positions([0.0, 30.0, 359.0], 12) == ("12 o'clock", "1 o'clock", "12 o'clock")


def test_more_than_24_are_counted_from_the_hour():
    """The spoke at the hour is named for it, the others by their number after it."""
    names = spoke_positions([120.0 + 7.5 * k for k in range(5)], 48)
    assert names == (
        "4 o'clock",
        "the first spoke after 4",
        "the second spoke after 4",
        "the third spoke after 4",
        "5 o'clock",
    )
    # Turned by half the spacing, no spoke stands at the hour.
    assert spoke_positions([123.75, 146.25], 48) == ("the first spoke after 4", "the fourth spoke after 4")
    # Just before the hour counts as at it.
    assert spoke_positions([119.0, 359.5], 48) == ("4 o'clock", "12 o'clock")
