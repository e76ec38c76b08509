"""Ring numbers hold when rings are hidden, false or drawn off."""

import numpy as np
import pytest

from aligncheck.drift.numbering import number_by_radii, number_rings

PITCHES = (6.35, 9.0, 12.7, 25.4)


def drawn(pitch: float, count: int, seed: int, hand_mm: float = 0.4) -> np.ndarray:
    return pitch * np.arange(1, count + 1) + np.random.default_rng(seed).normal(0, hand_mm, count)


def test_the_pitch_is_the_least_squares_one_through_zero() -> None:
    r = np.array([12.4, 25.9, 37.7, 51.0])
    k = np.arange(1, 5)
    found = number_rings(r)
    assert found.numbers.tolist() == [1, 2, 3, 4]
    assert found.pitch_mm == pytest.approx((k @ r) / (k @ k), rel=1e-12)


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("hidden", [1, 2, 3, 4, 5])
def test_hidden_inner_rings_keep_their_numbers(pitch: float, hidden: int) -> None:
    for seed in range(10):
        # With three rings left of eight, a hand of more than 3 % leaves two pitches equally likely.
        r = drawn(pitch, 8, seed, min(0.4, 0.03 * pitch))
        assert number_rings(r[hidden:]).numbers.tolist() == list(range(hidden + 1, 9))


@pytest.mark.parametrize("pitch", PITCHES)
def test_a_missing_ring_leaves_a_gap(pitch: float) -> None:
    for seed in range(10):
        r, k = drawn(pitch, 7, seed), np.arange(1, 8)
        gone = seed % 7
        assert number_rings(np.delete(r, gone)).numbers.tolist() == np.delete(k, gone).tolist()


@pytest.mark.parametrize("pitch", PITCHES[1:])
def test_one_false_ring_does_not_shift_the_others(pitch: float) -> None:
    for seed in range(20):
        r = drawn(pitch, 8, seed)[seed % 2 :]
        stray = np.random.default_rng(seed + 100).uniform(pitch / 2, r[-1])
        found = number_rings(np.append(r, stray))
        assert found.numbers[:-1].tolist() == list(range(1 + seed % 2, 9))


def test_two_rings_of_one_number_the_nearer_one_counts() -> None:
    found = number_rings([10.0, 20.0, 30.0, 33.5, 40.0])
    assert found.numbers.tolist() == [1, 2, 3, 3, 4]
    assert found.fitted.tolist() == [True, True, True, False, True]
    assert found.pitch_mm == pytest.approx(10.0)


def test_few_rings() -> None:
    assert number_rings([]).pitch_mm is None
    assert number_rings([31.0]).numbers.tolist() == [1]
    assert number_rings([20.0, 40.0]).numbers.tolist() == [1, 2]
    assert number_rings([25.4, 38.1]).numbers.tolist() == [2, 3]


def test_scaling_leaves_numbers_alone() -> None:
    r = drawn(12.7, 6, 3, 0.1)[1:]
    for scale in (0.6, 1.0, 2.0, 3.5):
        assert number_rings(r * scale).numbers.tolist() == [2, 3, 4, 5, 6]


def test_listed_radii_number_by_the_nearest() -> None:
    """A regulation dartboard's six radii, mm, each ring drawn a little off; the treble's inner one is missing."""
    board = (6.35, 15.9, 99.0, 107.0, 162.0, 170.0)
    assert number_by_radii([6.5, 15.0, 107.4, 161.5, 170.4], board).tolist() == [1, 2, 4, 5, 6]
