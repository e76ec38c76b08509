"""Counts of dots against the closed form, exact cases, and a ring laid dot by dot."""

import contextlib
import math

import numpy as np
import pytest

from aligncheck.errors import InputError
from aligncheck.paper.dot_count import closing_gap, dots_on_ring, walked_dots
from aligncheck.paper.dot_words import tell
from aligncheck.paper.tools import tools_near


@pytest.mark.parametrize(("count", "ratio"), [(2, 1.0), (3, 2 / math.sqrt(3)), (4, math.sqrt(2)), (6, 2.0)])
def test_exact_cases(count: int, ratio: float) -> None:
    """Two touching dots, three, four, and six round one: the ring's radius over a dot's is known from geometry."""
    found = dots_on_ring(radius_mm=ratio * 5, size_mm=10)
    assert found.exact == pytest.approx(count)
    assert [(ring.count, ring.gap_mm) for ring in found.closed] == [(count, 0.0)]


@pytest.mark.parametrize("gap", [0.0, 0.4, 1.3])
def test_closed_form(gap: float) -> None:
    """n = pi / asin((d + g) / 2r), and the whole numbers beside it."""
    found = dots_on_ring(60, 4, gap)
    assert found.exact == math.pi / math.asin((4 + gap) / 120)
    counts = [ring.count for ring in found.closed]
    assert counts == [math.floor(found.exact), math.floor(found.exact) + 1][: len(counts)]


@pytest.mark.parametrize("multiple", [1, 8, 12])
def test_rings_close_when_laid_dot_by_dot(multiple: int) -> None:
    """Middles laid a dot and a gap apart, as the crow flies, meet their beginning after the whole count."""
    for ring in dots_on_ring(60, 4, 1, multiple).closed:
        assert ring.count % multiple == 0
        step = 2 * math.asin((4 + ring.gap_mm) / 120)
        assert ring.count * step == pytest.approx(2 * math.pi)
        assert closing_gap(60, ring.fitting_mm, ring.count) == pytest.approx(1)


def test_overlapping_counts_are_not_offered() -> None:
    """Of touching dots only the smaller count is left: one more would overlap."""
    (one,) = dots_on_ring(60, 4).closed
    assert one.count == 94
    assert closing_gap(60, 4, 95) < 0


@pytest.mark.parametrize(
    ("first", "last", "length", "gap"), [(6, 2, 50, 0.5), (2, 6, 50, 0.5), (3, 3, 47, 0), (8, 1, 30, 2)]
)
def test_walk_fills_its_length(first: float, last: float, length: float, gap: float) -> None:
    """Dots and gaps add up, sizes keep their proportion, and no other count comes nearer to the gap wished."""
    walk = walked_dots(first, last, length, gap)
    sizes, middles = np.array(walk.sizes_mm), np.array(walk.middles_mm)
    assert (sizes[0], sizes[-1]) == (first, last)
    assert sizes.sum() + walk.gap_mm * (len(sizes) - 1) == pytest.approx(length)
    assert middles[-1] + last / 2 == pytest.approx(length)
    np.testing.assert_allclose(sizes[1:] / sizes[:-1], walk.share)
    np.testing.assert_allclose(np.diff(middles) - (sizes[1:] + sizes[:-1]) / 2, walk.gap_mm, atol=1e-12)
    for other in (len(sizes) - 1, len(sizes) + 1):
        with contextlib.suppress(InputError):
            assert abs(walked_dots(first, last, length, 0, other).gap_mm - gap) >= abs(walk.gap_mm - gap)


def test_touching_equal_dots_fill_exactly() -> None:
    """Twelve dots of 4 mm are 48 mm."""
    walk = walked_dots(4, 4, 48)
    assert len(walk.sizes_mm) == 12
    assert walk.gap_mm == 0


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((10, 30), "30 mm are too large: a ring of 10 mm does not hold 2"),
        ((10, 9, 0, 12), "does not hold 12"),
        ((60, 0), "--size: 0 mm is not a length above zero"),
        ((math.nan, 4), "--radius"),
        ((60, 4, -1), "--gap: -1 mm"),
        ((6000, 0.1), "the limit is 2000"),
    ],
)
def test_ring_refusals(values: tuple[float, ...], words: str) -> None:
    with pytest.raises(InputError) as caught:
        dots_on_ring(*values)  # type: ignore[arg-type]
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ((6, 2, 5), "2 such dots need 8 mm at least, not 5 mm"),
        ((6, 2, 20, 0, 9), "9 such dots need 33.2 mm"),
        ((6, 2, 50, 0, 1), "not a number of walked dots"),
        ((6, -2, 50), "--to: -2 mm"),
        ((0.1, 0.1, 500), "the limit is 200"),
    ],
)
def test_walk_refusals(values: tuple[float, ...], words: str) -> None:
    with pytest.raises(InputError) as caught:
        walked_dots(*values)  # type: ignore[arg-type]
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("size", "name"), [(4.0, "crochet hook G-6"), (2.25, "crochet hook B-1"), (10, "crochet hook N/P-15")]
)
def test_hooks_by_published_size(size: float, name: str) -> None:
    """Craft Yarn Council sizes: the hook of that very size is named first."""
    assert tools_near(size)[0].name == name


def test_no_tool_far_from_the_size() -> None:
    """Nothing is suggested for a dot as large as a hand."""
    assert tools_near(100) == ()
    assert "No usual tool" in " ".join(tell(dots_on_ring(300, 100)))


def test_words_say_the_count() -> None:
    """The sentence holds count, gap and what else would do."""
    lines = tell(dots_on_ring(60, 4, 1))
    assert lines[1] == "75 dots, 1.03 mm apart, one every 4.80°; or of 4.03 mm, 1 mm apart."
    assert tell(dots_on_ring(20, 20))[0] == "6 dots of 20 mm close a ring of 20 mm radius exactly, touching."
