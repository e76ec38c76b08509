"""The repeat test: the order found by itself, the odd place named, light no fault of the paint."""

import cv2
import numpy as np
import pytest

from aligncheck.photo import Photo
from aligncheck.repeat import find_repeat, find_unmarked
from aligncheck.words.repeats import ALL_ALIKE, repeat_lines
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
    assert first.paint == "less"
    # A dot of 8 mm, whatever smoothing and straying add.
    assert 2 * np.sqrt(first.area_mm2 / np.pi) == pytest.approx(SEGMENT[3][2], abs=1.5)


def test_a_dot_missing_at_twelve_is_one_departure() -> None:
    """It lies across the seam of the unrolled picture."""
    (one,) = find_repeat(*paint(10, without=(0, 3), turn_deg=0.0), CENTRE_MM).departures
    assert min(one.angle_deg, 360 - one.angle_deg) < 2


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


def test_the_light_is_evened_by_the_painting_itself() -> None:
    """A lamp to one side and a haze over the other: colours differ no more than in even light."""
    even = find_repeat(*paint(10), CENTRE_MM)
    photo, panel = paint(10)
    y, x = np.mgrid[-1 : 1 : 1j * photo.rgb.shape[0], -1 : 1 : 1j * photo.rgb.shape[1]][..., None]
    linear = (photo.rgb / 255.0) ** 2.2 * (1 + 0.5 * x) + 0.03 * (1 + y)
    lit = Photo(np.round(255 * np.clip(linear, 0, 1) ** (1 / 2.2)).astype(np.uint8))
    repeat = find_repeat(lit, panel, CENTRE_MM)
    assert repeat.departures == ()
    assert even.colour is not None
    assert repeat.colour == pytest.approx(even.colour, abs=1.0)


MIRRORED = (
    (30.0, 0.0, 7.0, (210, 60, 40)),
    (48.0, 0.25, 5.0, (230, 220, 200)),
    (48.0, 0.75, 5.0, (230, 220, 200)),
    (66.0, 0.5, 8.0, (240, 200, 60)),
)


def test_a_mirrored_design_is_known_with_its_axis() -> None:
    repeat = find_repeat(*paint(8, segment=MIRRORED), CENTRE_MM)
    assert repeat.mirror_deg is not None
    # The first dots stand at 7 degrees, the axes there and halfway to the next.
    assert repeat.mirror_deg % 22.5 == pytest.approx(7.0, abs=1.0)
    assert repeat.one_sided == ()
    assert repeat.departures == ()


def test_what_turns_one_way_is_not_mirrored() -> None:
    """Dots that wind outward on one side have no mirror image in the design."""
    winding = tuple((26.0 + 12 * k, 0.17 * k, 7.0 - k, c) for k, (_, _, _, c) in enumerate(SEGMENT))
    repeat = find_repeat(*paint(8, segment=winding), CENTRE_MM)
    assert repeat.order == 8
    assert repeat.mirror_deg is None
    assert repeat.one_sided == ()


def test_a_dot_on_one_flank_only_is_told_once() -> None:
    """Every segment has it, so no segment departs from the others; but its flank does from the other."""
    lop_sided = (*MIRRORED, (80.0, 0.3, 6.0, (60, 150, 190)))
    repeat = find_repeat(*paint(8, segment=lop_sided), CENTRE_MM)
    assert repeat.mirror_deg is not None
    assert repeat.departures == ()
    (one,) = repeat.one_sided
    assert one.radius_mm == pytest.approx(80.0, abs=1.5)
    # Three tenths of a segment are a fifth of one off the nearer axis.
    assert abs(one.off_axis_deg) == pytest.approx(0.2 * 45, abs=2.5)


def test_glare_is_said_and_nothing_under_it() -> None:
    """A wet third of the panel: no place there departs; a dot left out beside it still does."""
    photo, panel = paint(9, without=(6, 3), turn_deg=0.0)
    x = np.linspace(-1, 1, photo.rgb.shape[1])[:, None]
    veil = np.clip((x - 0.25) * 6, 0, 1)
    wet = Photo(np.round(photo.rgb + (250 - photo.rgb.astype(float)) * 0.85 * veil).astype(np.uint8))
    repeat = find_repeat(wet, panel, CENTRE_MM, 9)
    assert repeat.order == 9
    assert 0.15 < repeat.glare_share < 0.5
    assert [note.code for note in repeat.notes] == ["repeat_glare"]
    assert repeat.glare_deg is not None
    start, stop = repeat.glare_deg
    assert 0 <= start < 90 < stop <= 190
    assert len(repeat.departures) >= 1
    assert repeat.departures[0].angle_deg == pytest.approx(240, abs=3)
    assert all(d.place_mm[0] < 40 for d in repeat.departures)


def test_unfinished_segments_are_said() -> None:
    photo, panel = paint(9, bare=(0, 1, 2), turn_deg=20.0)
    repeat = find_repeat(photo, panel, CENTRE_MM, 9)
    assert repeat.left_out == (1, 2, 3) or len(repeat.left_out) == 3
    assert [note.code for note in repeat.notes] == ["repeat_unfinished"]
    assert "3 of 9" in repeat.notes[0].text


def test_what_does_not_repeat_is_said() -> None:
    """Dots strewn at random: no order, and words that say so."""
    rng = np.random.default_rng(8)
    strewn = tuple(
        (float(r), float(a), float(d), (210, 60, 40))
        for r, a, d in zip(rng.uniform(10, 85, 40), rng.uniform(0, 1, 40), rng.uniform(3, 8, 40), strict=True)
    )
    repeat = find_repeat(*paint(1, segment=strewn), CENTRE_MM)
    assert repeat.order is None
    assert repeat_lines(repeat) == ["Nothing repeats clearly, so no segment could be compared with another."]


def test_a_piece_on_the_panel_is_left_out() -> None:
    """A six-pointed thing on a design of twelve is no fault of the design."""
    photo, panel = paint(12)
    image = photo.rgb.copy()
    n = image.shape[0]
    angles = np.radians(np.arange(0, 360, 5))
    reach = 40 + 8 * np.cos(6 * angles)
    outline = CENTRE_MM + reach[:, None] * np.stack([np.sin(angles), -np.cos(angles)], -1)
    pixels = np.round((outline + 100) * n / 200).astype(np.int32)
    cv2.fillPoly(image, [pixels], (120, 160, 70))
    with_it, without = (find_repeat(Photo(image), panel, CENTRE_MM, 12, (), p) for p in ((outline,), ()))
    assert with_it.departures == ()
    assert len(without.departures) > 0 or (without.edge_mm or 0) > (with_it.edge_mm or 0)


def test_a_black_channel_and_a_hidden_panel_are_no_crash() -> None:
    """Light that lacks a colour altogether, and a panel of which nothing is seen."""
    photo, panel = paint(10)
    red = photo.rgb.copy()
    red[..., 1:] = 0
    assert find_repeat(Photo(red), panel, CENTRE_MM, 10).order == 10
    everything = np.array([[-100.0, -100], [100, -100], [100, 100], [-100, 100]])
    hidden = find_repeat(photo, panel, CENTRE_MM, 10, (), (everything,))
    assert hidden.departures == ()


ALTERNATING = (
    (30.0, 0.0, 7.0, (210, 60, 40)),
    (30.0, 0.5, 7.0, (230, 220, 200)),
    (48.0, 0.25, 5.0, (60, 150, 190)),
    (48.0, 0.75, 5.0, (60, 150, 190)),
    (66.0, 0.0, 8.0, (240, 200, 60)),
    (66.0, 0.5, 8.0, (210, 60, 40)),
)


def test_alternating_colours_are_compared_two_segments_apart() -> None:
    """Twelve by what is drawn, six with the colours: else every segment would be unlike the consensus."""
    plain = find_repeat(*paint(6, segment=ALTERNATING), CENTRE_MM)
    assert (plain.order, plain.colour_order, plain.departures) == (12, 6, ())
    assert plain.colour is not None
    assert plain.colour < 3
    (one,) = find_repeat(*paint(6, segment=ALTERNATING, other_colour=(2, 0)), CENTRE_MM).departures
    assert one.angle_deg == pytest.approx(7 + 120, abs=2)


def test_a_middle_with_another_count_is_said_and_left_out() -> None:
    """Eight dots in the middle of twelve segments: no segment's fault, and an outer dot is still missed."""
    photo, panel = paint(12, without=(3, 3), segment=SEGMENT[1:])
    inner, _ = paint(8, segment=((14.0, 0.0, 6.0, (210, 60, 40)), (28.0, 0.5, 5.0, (60, 150, 190))))
    painted = (np.abs(inner.rgb.astype(int) - (38, 42, 70)).max(-1) > 25)[..., None]
    both = Photo(np.where(painted, inner.rgb, photo.rgb))
    repeat = find_repeat(both, panel, CENTRE_MM, 12)
    assert repeat.order == 12
    (one,) = repeat.departures
    assert one.radius_mm == pytest.approx(SEGMENT[4][0], abs=1.5)
    (note,) = repeat.notes
    assert note.code == "repeat_other_count"
    assert note.values["order"] == 8
    assert "repeats 8 times" in note.text


def test_a_quarter_painted_is_compared_with_itself() -> None:
    """Three of twelve begun: they are the design, not the nine that show bare panel."""
    repeat = find_repeat(*paint(12, bare=tuple(range(9))), CENTRE_MM, 12)
    assert repeat.left_out == tuple(range(1, 10))
    assert repeat.edge_mm is not None
    assert repeat.departures == ()


def test_two_segments_cannot_tell_the_odd_one() -> None:
    repeat = find_repeat(*paint(2), CENTRE_MM)
    assert repeat.edge_mm is None
    assert [note.code for note in repeat.notes] == ["repeat_few"]


def test_the_words_say_what_differs_and_nothing_twice() -> None:
    """Less paint, by clock and distance; a place that another line names is not repeated."""
    repeat = find_repeat(*paint(10, without=(3, 3)), CENTRE_MM)
    lines = repeat_lines(repeat)
    assert lines[0] == "The design repeats 10 times."
    assert any(line.startswith("Paint is lacking that the other segments have: 4 o'clock, 66 mm") for line in lines)
    assert not any("o'clock" in line for line in repeat_lines(repeat, ()))
    assert ALL_ALIKE in repeat_lines(find_repeat(*paint(10), CENTRE_MM))
