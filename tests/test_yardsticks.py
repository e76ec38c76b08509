"""The yardsticks themselves: they must fail when they should, and agree with each other where both are exact."""

from pathlib import Path

import pytest

from aligncheck.drift import measure_drift
from tests.closeness import assert_mostly_within, assert_within, least_held
from tests.true_drift import true_drift, turned
from tests.truth import read_truth, true_marks

SAMPLES = sorted((Path(__file__).parent.parent / "samples").glob("night-daisy-?-*.json"))


def test_a_value_outside_its_interval_fails() -> None:
    """Twice the claimed uncertainty off is too far, half as far again is luck; no claim at all fails."""
    assert_within(1.0, 0.1, 1.14)
    with pytest.raises(AssertionError, match="from the truth"):
        assert_within(1.0, 0.1, 1.2)
    with pytest.raises(AssertionError, match="positive"):
        assert_within(1.0, 0.0, 1.0)
    with pytest.raises(AssertionError, match="too little"):
        assert_within(1.0, 5.0, 1.0, at_most=0.5)


def test_too_few_intervals_that_hold_fail() -> None:
    """Of 100 intervals 95 hold on average and 87 or more in 999 of 1000 samples (binomial)."""
    assert least_held(100) == 87
    assert_mostly_within([0.5] * 95 + [1.5] * 5, [1.0] * 100)
    with pytest.raises(AssertionError, match="only 80 of 100"):
        assert_mostly_within([0.5] * 80 + [1.5] * 20, [1.0] * 100)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_drift_of_the_true_marks_is_the_true_drift(path: Path) -> None:
    """The package's drift on exact marks is what the definitions give, computed apart from it."""
    truth = read_truth(path)
    found, true = measure_drift(true_marks(truth)), true_drift(truth)
    assert found.rotation_deg == pytest.approx(true.rotation_deg, abs=1e-6)
    for spoke in found.spokes:
        other = true.nearest_spoke(spoke.angle_deg)
        assert abs(turned(spoke.ideal_deg - other.ideal_deg)) < 1e-6
        assert spoke.move_mm == pytest.approx(other.move_mm, abs=1e-6)
        assert spoke.miss_mm == pytest.approx(other.miss_mm, abs=1e-6)
    for ring in found.rings:
        other_ring = true.nearest_ring(ring.radius_mm)
        assert ring.number == other_ring.number
        assert ring.drift_mm == pytest.approx(other_ring.drift_mm, abs=1e-6)
