"""The point that spokes and rings were set about."""

import numpy as np
import pytest

from aligncheck.geometry.uncertainty import u95_number
from aligncheck.marks import Ring
from aligncheck.marks.aim import aimed_at

SPOKES = 0.2**2 * np.eye(2)


def rings_about(centres: np.ndarray, own_mm: float = 0.02) -> list[Ring]:
    return [Ring(c, 12.7 * (k + 1), own_mm**2 * np.eye(3)) for k, c in enumerate(centres)]


def test_two_rings_tell_nothing() -> None:
    point, covariance = aimed_at(np.array([0.3, 0.1]), SPOKES, rings_about(np.zeros((2, 2))))
    np.testing.assert_array_equal(point, [0.3, 0.1])
    np.testing.assert_array_equal(covariance, SPOKES)


def test_rings_that_agree_outweigh_spokes_that_do_not() -> None:
    centres = np.array([[1.0, 2.0], [1.01, 2.0], [0.99, 2.0], [1.0, 2.0]])
    point, covariance = aimed_at(np.array([1.4, 1.7]), SPOKES, rings_about(centres))
    assert point == pytest.approx([1.0, 2.0], abs=0.01)
    assert np.sqrt(covariance[0, 0]) < 0.02


def test_a_ring_that_is_hardly_known_hardly_counts() -> None:
    centres = np.random.default_rng(3).normal(0, 0.3, (8, 2))
    without, _ = aimed_at(np.zeros(2), SPOKES, rings_about(centres))
    stray = Ring(np.array([4.0, 0.0]), 120.0, 6.0**2 * np.eye(3))
    moved, _ = aimed_at(np.zeros(2), SPOKES, [*rings_about(centres), stray])
    assert np.hypot(*(moved - without)) < 0.02


@pytest.mark.parametrize("count", [3, 5, 9])
def test_the_claim_is_the_scatter_of_repeats(count: int) -> None:
    """Hands that set spokes and rings about a centre: 95 % of the intervals hold it, and rings make them narrower."""
    rng = np.random.default_rng(count)
    held, claims = [], []
    for _ in range(2000):
        met = rng.normal(0, 0.2, 2)
        point, covariance = aimed_at(met, SPOKES, rings_about(rng.normal(0, 0.3, (count, 2))))
        u95 = [u95_number(v) for v in np.diag(covariance)]
        held += [abs(e) <= u for e, u in zip(point, u95, strict=True)]
        claims += u95
    assert np.mean(held) == pytest.approx(0.95, abs=0.02)
    assert np.mean(claims) < 0.9 * u95_number(SPOKES[0, 0])
