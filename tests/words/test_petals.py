"""What is said of traced rows: short petals, common radii, closeness to the edge and under a frame."""

from types import SimpleNamespace

import numpy as np
import pytest

from aligncheck.rows import Petal, Row, Rows
from aligncheck.words import findings
from aligncheck.words.petals import row_lines, short_lines
from tests.overlay.made import even_spokes, level_panel, made_drift


def petal(row: int, segment: int, radius: float, inward: float = 0.0) -> Petal:
    angle = 30.0 * (segment - 1)
    tip = (radius - inward) * np.array([np.sin(np.radians(angle)), -np.cos(np.radians(angle))])
    return Petal(
        *(row, segment, tip, 0.5, radius - inward, angle, radius, angle, inward, 0.4, 0.0, 0.3),
        base_mm=np.zeros((2, 2)),
        width_mm=12.0,
        balance_mm=0.0,
        short=inward > 4.5,
        outline_mm=np.zeros((3, 2)),
    )


def rows(edge_mm: float = 9.0) -> Rows:
    inner = Row(
        1, 50.0, 0.5, "on spokes", 100.0, tuple(petal(1, k, 50.0, 5.9 if k == 4 else 0.0) for k in range(1, 13))
    )
    outer = tuple(petal(2, k, 90.0) for k in range(1, 13))
    return Rows((inner, Row(2, 90.0, 0.5, "between spokes", edge_mm, outer, 0.4, "left", 10, 0.3)))


def test_a_short_petal_says_how_far_to_draw_its_tip() -> None:
    assert short_lines(rows()) == ["Row 1, 3 o'clock: draw its tip 5.9 mm further out, ± 0.4 mm."]


def test_the_outer_row_says_how_close_it_comes() -> None:
    lines = row_lines(rows())
    assert lines[1] == "Row 2: 12 petals between spokes, tips 90.0 mm from the centre, 9.0 mm from the edge."
    assert lines[2] == (
        "Its tip at 9 o'clock comes closest to a side, the left: 9.0 mm, ± 0.4 mm; "
        "2.7 mm stay clear of a frame that covers 6.35 mm, as is usual."
    )


@pytest.mark.parametrize(
    ("rebate", "words"),
    [
        (8.0, "1.0 mm stay clear of a frame that covers 8 mm."),
        (12.7, "a frame that covers 12.7 mm hides 3.7 mm of it."),
    ],
)
def test_a_frame_that_was_told_is_taken(rebate: float, words: str) -> None:
    drift = made_drift(level_panel(), even_spokes(12, [0.0] * 12))
    made = SimpleNamespace(drift=drift, notes=(), rows=rows(), margin=SimpleNamespace(rebate_mm=rebate))
    assert any(line.endswith(words) for line in findings(made))
