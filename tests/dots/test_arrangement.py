"""How dots stand together: rings, runs, what is off its place, run together or of another paint."""

import numpy as np
import pytest

from aligncheck.dots import Dots, find_dots
from aligncheck.words.dots import fault_lines, headline
from tests.dots.painted import BLUE, CENTRE, PIECE, PLUM, RED, Kind, Painting


def found_in(painting: Painting) -> Dots:
    photo, marks = painting.draw()
    dots = find_dots(photo, marks, painting.order)
    assert dots is not None
    assert dots.arrangement is not None
    return dots


@pytest.fixture(scope="module")
def even() -> Dots:
    return found_in(Painting(PIECE))


def test_rings_are_told_apart_by_distance_and_size(even: Dots) -> None:
    """A pair to both sides of a spoke is one ring of twice as many; the run's dots are rings of their own."""
    rings = even.arrangement.rings  # type: ignore[union-attr]
    assert [ring.number for ring in rings] == list(range(1, len(PIECE)))
    assert sorted(ring.places for ring in rings) == [12] * (len(PIECE) - 2) + [24]
    (pairs,) = [ring for ring in rings if ring.places == 24]
    assert pairs.radius_mm == pytest.approx(38.0, abs=0.3)
    assert pairs.diameter_mm == pytest.approx(3.0, abs=0.2)
    (outer,) = [ring for ring in rings if abs(ring.radius_mm - 74) < 1]
    # Chord between neighbours less a diameter.
    assert outer.gap_mm == pytest.approx(2 * 74 * np.sin(np.pi / 12) - 6.0, abs=0.3)
    assert outer.uneven_mm is not None
    assert outer.uneven_mm < 0.5


def test_a_walked_run_is_followed_with_its_step(even: Dots) -> None:
    run = even.arrangement.runs[0]  # type: ignore[union-attr]
    assert len(run.kinds) == 5
    assert run.step == pytest.approx(0.8, abs=0.03)
    assert np.allclose(run.diameters_mm, 8 * 0.8 ** np.arange(5), atol=0.25)
    assert np.allclose(run.gaps_mm, 0.9, atol=0.35)


def test_an_even_piece_has_nothing_amiss(even: Dots) -> None:
    a = even.arrangement
    assert a is not None
    assert (a.misplaced, a.merged, a.other_paint) == ((), (), ())
    assert not even.faulty
    assert headline(even)[0] == "Every dot is in its place"


def test_a_misplaced_dot_is_named_with_its_way() -> None:
    """Alone, by ring and clock position, and how far which way."""
    painting = Painting(PIECE, moved={(7, 3): (-0.2, 1.9)})
    dots = found_in(painting)
    (off,) = dots.arrangement.misplaced  # type: ignore[union-attr]
    assert off.outward_mm == pytest.approx(1.9, abs=0.4)
    assert off.clockwise_mm == pytest.approx(-0.2, abs=0.4)
    (line,) = fault_lines(dots)
    assert line.startswith("Ring at 74 mm, half past 3: dot ")
    assert "mm too far out" in line


def test_dots_that_have_run_together_are_named() -> None:
    """The second and the third of a run, in one segment; in the others they touch nothing."""
    dots = found_in(Painting(PIECE, joined={(1, 2, 4)}))
    (pair,) = dots.arrangement.merged  # type: ignore[union-attr]
    wanted = (Painting(PIECE).centre_mm(1, 4) + Painting(PIECE).centre_mm(2, 4)) / 2 + CENTRE
    assert np.hypot(*(pair.middle_mm - wanted)) < 1.5
    assert any("two dots have run together" in line and "4 o'clock" in line for line in fault_lines(dots))


def test_dots_that_only_touch_are_no_fault() -> None:
    """A ring whose dots overlap by a hair everywhere, and a pair that happens to."""
    kinds = [Kind(40.0, 0.0, 8.0, RED), Kind(47.3, 0.0, 6.4, BLUE), Kind(60.0, 15.0, 6.0, BLUE)]
    assert found_in(Painting(kinds, moved={(0, 2): (0.0, 0.3)})).arrangement.merged == ()  # type: ignore[union-attr]


def test_a_dot_of_another_paint_is_named() -> None:
    painting = Painting(PIECE, repainted={(0, 5): BLUE})
    dots = found_in(painting)
    (other,) = dots.arrangement.other_paint  # type: ignore[union-attr]
    assert np.hypot(*(dots.dots[other.dot].centre_mm - CENTRE - painting.centre_mm(0, 5))) < 1
    (line,) = [line for line in fault_lines(dots) if "its like are" in line]
    assert line.startswith("Ring at 30 mm, 5 o'clock: dot in ")


def test_colours_that_alternate_are_no_fault() -> None:
    """Every second dot of a ring in plum was meant."""
    painting = Painting(PIECE, repainted={(7, k): PLUM for k in range(0, 12, 2)})
    assert found_in(painting).arrangement.other_paint == ()  # type: ignore[union-attr]
