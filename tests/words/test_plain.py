"""A page leaves out what only readers of the result file can use."""

from aligncheck.words.plain import plain_lines
from aligncheck.words.repeats import ALIKE


def test_figures_stay_out_of_a_page() -> None:
    lines = [
        "Row 1: draw its tip 6.2 mm further out, ± 0.9 mm.",
        ALIKE.format(edge="0.6", colour="3.9"),
        "10 places more, less unlike, in the result file.",
        "4 colours of paint: 108 dots in #de3f44 and 96 dots in #f4d65c.",
        "Dot #3 is too big.",
    ]
    assert plain_lines(lines) == [lines[0], lines[4]]


def test_options_of_the_command_line_stay_out_of_a_page() -> None:
    height = "Its height is not known. Hold the phone right above it, or give --height: ± gets smaller."
    assert plain_lines([height, "Nothing fits: give --corners."]) == [
        "Its height is not known. Hold the phone right above it: ± gets smaller."
    ]
