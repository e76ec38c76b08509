"""Dots that repeat less often than the marks: every other segment painted differently."""

import numpy as np
import pytest

from aligncheck.dots import find_dots
from tests.dots.painted import BLUE, CENTRE, GOLD, PIECE, RED, WHITE, Kind, Painting

#: Two kinds that stand in every other segment only, one a colour and a size of its own.
ALTERNATE = (Kind(52.0, 12.0, 4.0, WHITE), Kind(86.0, 0.0, 7.0, BLUE))


def painting(*, left_out: tuple[tuple[int, int], ...] = ()) -> Painting:
    kinds = [*PIECE, *ALTERNATE]
    odd = {(k, s) for k in (len(PIECE), len(PIECE) + 1) for s in range(1, 12, 2)}
    return Painting(kinds, gone=odd | set(left_out))


@pytest.mark.parametrize("order", [12, 24])
def test_dots_are_found_whole_whatever_the_marks_count(order: int) -> None:
    """Kinds of every other segment, or of every second and fourth place."""
    photo, marks = painting().draw()
    dots = find_dots(photo, marks, order, CENTRE)
    assert dots is not None
    assert dots.order == 6
    assert len(dots.dots) == 12 * len(PIECE) + 6 * len(ALTERNATE)
    assert not dots.missing


def test_one_left_out_of_every_other_segment_is_named() -> None:
    paint = painting(left_out=((len(PIECE) + 1, 4),))
    photo, marks = paint.draw()
    dots = find_dots(photo, marks, 12, CENTRE)
    assert dots is not None
    assert len(dots.missing) == 1
    assert np.hypot(*(dots.missing[0].centre_mm - CENTRE - paint.centre_mm(len(PIECE) + 1, 4))) < 1


def test_some_left_out_here_and_there_change_no_order() -> None:
    kinds = [Kind(40.0, 5.0, 5.0, RED), Kind(60.0, 0.0, 6.0, GOLD), Kind(80.0, 10.0, 5.0, BLUE)]
    photo, marks = Painting(kinds, gone={(1, 0), (1, 1), (1, 6), (2, 3)}).draw()
    dots = find_dots(photo, marks, 12, CENTRE)
    assert dots is not None
    assert dots.order == 12
