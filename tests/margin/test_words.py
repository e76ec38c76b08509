"""What is said about a margin and a frame."""

import numpy as np
import pytest

from aligncheck.margin import SIDES, Margin, SideMargin
from aligncheck.margin.frame import (
    REBATE_WIDTHS_MM,
    USUAL_DEPTH_MM,
    Frame,
    opening_mm,
    ready_made,
    room_askew,
    sight_mm,
    verdict,
)
from aligncheck.notes import Note
from aligncheck.panel.squareness import Squareness
from aligncheck.words.margins import headline, margin_lines, shape_lines

SIZE = (304.8, 304.8)


def made(top: float, right: float = 40.0, bottom: float = 40.0, left: float = 40.0, rebate: float = 6.0) -> Margin:
    values = (top, right, bottom, left)
    sides = tuple(SideMargin(s, v, 0.5, np.zeros(2), "spoke") for s, v in zip(SIDES, values, strict=True))
    return Margin(sides, ((left - right) / 2, (top - bottom) / 2), (0.4, 0.4), rebate)


@pytest.mark.parametrize(
    ("top", "first", "second"),
    [
        (20.0, "The frame hides nothing of it", "Least room at the top: 14.0 mm beside the frame, ± 0.5 mm"),
        (6.2, "The frame comes too close to call", "Least room at the top: 0.2 mm beside the frame, ± 0.5 mm"),
        (3.0, "The frame hides part of it", "Most at the top: 3.0 mm of it under the frame, ± 0.5 mm"),
    ],
)
def test_verdict_first(top: float, first: str, second: str) -> None:
    assert headline(made(top)) == (first, second)


def test_usual_measures() -> None:
    """Trade pages: rebates of 1/4, 5/16, 3/8 and 1/2 in, 3/8 to 1/2 in deep, openings 1/8 in larger."""
    assert pytest.approx([6.35, 7.9375, 9.525, 12.7]) == list(REBATE_WIDTHS_MM)
    assert pytest.approx((9.525, 12.7)) == USUAL_DEPTH_MM
    assert opening_mm(*SIZE) == pytest.approx((307.975, 307.975))
    assert sight_mm(*SIZE, 6.35) == pytest.approx((295.275, 295.275))


def test_side_lines_and_middle() -> None:
    lines = margin_lines(made(20.0, 44.0), SIZE, Frame(6.0))
    assert "Top: 20.0 mm from the side, ± 0.5 mm; 14.0 mm beside the frame." in lines
    assert "The design sits 2.0 mm left and 10.0 mm up of the panel's middle, ± 0.4 mm." in lines
    # Only a rebate that nobody told is worth measuring.
    told, taken = Frame(6.35), Frame(6.35, assumed=True)
    assert ["--rebate" in " ".join(margin_lines(made(20.0), SIZE, frame)) for frame in (told, taken)] == [False, True]
    assert "The design sits in the panel's middle, ± 0.4 mm." in margin_lines(made(40.5), SIZE, Frame(6.0))


def test_depth_and_glass() -> None:
    """A piece 12 mm high on a 3 mm panel under glass needs 17.5 mm; a frame of 10 mm is told to be too shallow."""
    lines = margin_lines(made(20.0), SIZE, Frame(6.0, 10.0, True), 3.0, (12.0, 12.0))
    text = " ".join(lines)
    assert "A panel of 3 mm with the piece and glass takes 17.5 mm of the frame's depth" in text
    assert "the piece stands 7.5 mm out of it" in text
    assert "may stand up to 7.5 mm" in " ".join(
        margin_lines(made(20.0), SIZE, Frame(6.0, 10.0, True), 3.0, (0.0, 12.0))
    )
    assert "Glass must not touch" in text
    assert "Hot glue" in text
    assert "Glass" not in " ".join(margin_lines(made(20.0), SIZE, Frame(6.0)))


def test_interval_decides_the_verdict() -> None:
    side = made(6.4).sides[0]
    assert [verdict(side, rebate) for rebate in (5.8, 6.2, 7.0)] == ["free", "unsure", "hides"]


def test_ready_made_frames() -> None:
    """Sizes from the trade page, either way round; 12 x 12 in is not among them."""
    assert ready_made(203.2, 254.0) == (8, 10)
    assert ready_made(255.0, 203.0) == (10, 8)
    assert ready_made(*SIZE) is None
    own = "This size is none of the usual ready-made ones: look for one, or have it cut to measure."
    assert own in margin_lines(made(20.0), SIZE, Frame())
    assert "Frames for 8 x 10 in are sold ready made." in margin_lines(made(20.0), (203.2, 254.0), Frame())


def test_a_leaning_panel_needs_room_in_the_frame() -> None:
    """A 200 x 150 mm panel that leans by 0.9 mm over its height: a rectangle around it is 0.9 mm wider."""
    leaning = np.array([[0.9, 0.0], [200.9, 0.0], [200.0, 150.0], [0.0, 150.0]])
    a, b, c, d = leaning
    differ = float(np.hypot(*(c - a)) - np.hypot(*(d - b)))
    assert room_askew(differ, 200.0, 150.0) == pytest.approx(0.9, abs=0.005)
    notes = (Note("panel_too_wide", {}), Note("panel_not_square", {"longer": "top left to bottom right"}), Note("x"))
    lines = shape_lines(notes, Squareness(differ, 0.3, 1.2, 0.3), (200.0, 150.0))
    assert lines[0].startswith("The panel is not square") and lines[2].startswith("The panel is ? mm too")
    assert lines[1] == "In a frame that takes 0.9 mm, ± 0.2 mm, of the 3.2 mm by which its opening is larger."
    far = shape_lines(notes, Squareness(-6.0, 0.3, 1.2, 0.3), (200.0, 150.0))
    assert far[1] == "In a frame that takes an opening 3.8 mm larger than the panel, ± 0.2 mm; usual are 3.2 mm."
    assert shape_lines((Note("x"),), Squareness(0.1, 0.3, 0.1, 0.3), (200.0, 150.0)) == []
