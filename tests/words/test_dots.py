"""What is said of painted dots: by ring and clock position, the fault and how far."""

import re
from dataclasses import replace
from types import SimpleNamespace

from aligncheck.words import findings, summarise, table
from aligncheck.words.dot_order import count_lines
from aligncheck.words.dots import MORE, fault_lines, headline
from tests.dots.made import amiss, even_dots
from tests.overlay.made import even_spokes, level_panel, made_drift


def test_each_fault_has_its_line() -> None:
    assert fault_lines(amiss()) == [
        "Ring at 62 mm, 3 o'clock: a dot of 5.0 mm is missing.",
        "Ring at 30 mm, 5 o'clock: dot 10.4 mm across, ± 0.1 mm, its like are 8.0 mm.",
        "Rings at 30 and 38 mm, 8 o'clock: two dots have run together.",
        "Ring at 62 mm, 7 o'clock: dot 1.6 mm too far out, ± 0.2 mm.",
        "Ring at 30 mm, 2 o'clock: dot in the colour #e7b338, its like are poppy.",
    ]


def test_the_headline_counts_and_says_where_to_look_first() -> None:
    words, second = headline(amiss())
    assert words == "1 dot missing, 1 too big, 2 run together, 1 off place, 1 in another colour"
    assert second == "Missing: 3 o'clock, 62 mm from the centre, 5.0 mm wide"


def test_an_even_piece_is_told_so() -> None:
    assert fault_lines(even_dots()) == []
    assert headline(even_dots()) == ("Every dot is in its place", "36 dots: none missing, none too big")


def test_how_the_dots_stand_together() -> None:
    assert count_lines(even_dots()) == [
        "36 dots in 3 rings, 5.0 to 8.0 mm across.",
        "Gaps within the rings are even to ± 0.6 mm; "
        "least even: ring at 30 mm, half past 3, 1.1 mm wider than its like.",
        "1 walked run in each segment, of 3 dots; each dot about 0.80 of the one before it.",
        "2 colours of paint: 24 dots in poppy and 12 dots in #e7b338.",
    ]


def test_paints_without_a_name_lead_to_the_list_of_paints() -> None:
    dots = even_dots()
    bare = tuple(replace(paint, name=None) for paint in dots.arrangement.paints)  # type: ignore[union-attr]
    nameless = SimpleNamespace(**{**vars(dots), "arrangement": replace(dots.arrangement, paints=bare)})  # type: ignore[type-var]
    assert count_lines(nameless)[-1].endswith("in #e7b338. Give your list of paints with --paints to name them.")  # type: ignore[arg-type]


def test_of_many_faults_the_rest_is_counted() -> None:
    dots = amiss()
    many = SimpleNamespace(**{**vars(dots), "missing": dots.missing * 15, "oversize": ()})
    many.arrangement = SimpleNamespace(**{**vars(dots.arrangement), "misplaced": (), "merged": (), "other_paint": ()})
    many.arrangement.ring_of = dots.arrangement.ring_of  # type: ignore[union-attr]
    lines = fault_lines(many)  # type: ignore[arg-type]
    assert len(lines) == 13
    assert lines[-1] == MORE.format(count=3)


def test_on_a_painted_piece_the_dots_lead() -> None:
    """Nobody moves chalk under paint: what is off there, and what is too close to call, is counted and no more."""
    drift = made_drift(level_panel(), even_spokes(12, [0, 0, 3.0, 0, 0, 1.1, 0, 0, 0, -1.1, 0, 0]), u95_mm=0.3)
    made = SimpleNamespace(drift=drift, notes=(), dots=amiss())
    said = summarise(made)
    assert said.kind == "dots"
    lines = findings(made)
    assert lines[1].startswith("Ring at 62 mm")
    assert "1 spoke off under the paint: nothing to move there any more." in lines
    assert not any("move its outer end" in line for line in lines)
    assert "2 spokes too close to call under the paint." in lines
    assert not any("perhaps" in line for line in lines)
    even = SimpleNamespace(drift=drift, notes=(), dots=even_dots())
    assert summarise(even).kind == "fits"


def test_no_jargon() -> None:
    text = " ".join([*fault_lines(amiss()), *count_lines(amiss()), *headline(amiss())])
    assert not re.search(r"°|degree|pixel|px|%|deviation|residual|sigma|CIE", text)


def test_ways_are_told_the_larger_first_and_small_ones_not() -> None:
    from aligncheck.dots import Misplaced
    from aligncheck.words.dots import way

    assert way(Misplaced(0, -0.5, 1.6, 0.2)) == "1.6 mm too far out and 0.5 mm too far anticlockwise"
    assert way(Misplaced(0, 2.04, -0.1, 0.2)) == "2.0 mm too far clockwise"


def test_the_table_has_a_row_for_each_ring_of_dots() -> None:
    drift = made_drift(level_panel(), even_spokes(12, [0.0] * 12))
    text = table(SimpleNamespace(drift=drift, notes=(), dots=even_dots()))
    rows = [line.split() for line in text.splitlines()]
    assert ["62.0", "12/12", "5.00", "7.00", "0.30", "+1.10", "half", "past", "3"] in rows
    assert "dots at mm" not in table(SimpleNamespace(drift=drift, notes=()))
