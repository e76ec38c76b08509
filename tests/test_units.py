"""Sizes, lengths and clock positions as people write them."""

import pytest

from aligncheck.errors import InputError
from aligncheck.units import clock, clock_span, parse_length, parse_size


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("12x12in", (304.8, 304.8)),
        ("12 x 10 inches", (304.8, 254.0)),
        ("30x40cm", (300, 400)),
        ("304.8x254mm", (304.8, 254)),
        ("11 3/4 x 9 1/2 in", (298.45, 241.3)),
        ('11¾×9½"', (298.45, 241.3)),
        ("12in x 300mm", (304.8, 300)),
        ("30,5 x 40,5 cm", (305, 405)),
        ("0.3 by 0.4 m", (300, 400)),
        ("305X406", (305, 406)),
        ("300*400 MM", (300, 400)),
    ],
)
def test_sizes_are_read_width_first(text: str, size: tuple[float, float]) -> None:
    assert parse_size(text) == size


@pytest.mark.parametrize("text", ["", "12", "12in", "axb", "12x12ft", "12x12x12in", "1/0x3in", "12xx12in", "nanxnanmm"])
def test_nonsense_sizes_name_an_example(text: str) -> None:
    with pytest.raises(InputError, match="12x12in") as caught:
        parse_size(text)
    assert caught.value.code == "bad_size"


@pytest.mark.parametrize("text", ["12x12", "12x12m", "-12x12in", "0x12in", "3000x4000cm", "9e9x9e9"])
def test_sizes_that_no_panel_has_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_size(text)


def test_a_forgotten_unit_is_told() -> None:
    with pytest.raises(InputError, match=r"12\.0 x 12\.0 mm. Write the unit"):
        parse_size("12x12")


@pytest.mark.parametrize(
    ("text", "mm"),
    [("6mm", 6), ("1/4in", 6.35), ('3 1/2"', 88.9), (" 2.5 cm", 25), (7, 7), ("⅜ in", 9.525)],
)
def test_single_lengths_are_mm_unless_said(text: str | float, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, abs=1e-9)


def test_a_length_that_is_none_names_what_was_asked() -> None:
    with pytest.raises(InputError, match="--depth: thick is not a length"):
        parse_length("thick", "--depth")


@pytest.mark.parametrize(
    ("angle", "words"),
    [
        (0, "12 o'clock"),
        (120, "4 o'clock"),
        (135, "half past 4"),
        (359, "12 o'clock"),
        (345, "half past 11"),
        (-30, "11 o'clock"),
        (15, "half past 12"),
        (22.5, "1 o'clock"),
    ],
)
def test_clock_positions(angle: float, words: str) -> None:
    assert clock(angle) == words


def test_24_spokes_have_24_names_however_turned() -> None:
    for turn in range(15):
        assert len({clock(turn + 15 * k) for k in range(24)}) == 24


@pytest.mark.parametrize(
    ("angles", "words"),
    [
        ([120], "at 4 o'clock"),
        ([118, 122], "at 4 o'clock"),
        ([150, 90, 120], "from 3 o'clock to 5 o'clock"),
        ([330, 30], "from 11 o'clock to 1 o'clock"),
        ([0, 90, 180, 270], "all around"),
    ],
)
def test_spans_of_the_clock(angles: list[float], words: str) -> None:
    assert clock_span(angles) == words
