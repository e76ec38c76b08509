"""The least of several distances, none of them known exactly."""

import numpy as np
import pytest

from aligncheck.margin.nearest import least


def test_one_reading_alone() -> None:
    middle, half = least(np.array([12.0]), np.array([0.4]), ["spoke 0"])
    assert middle == pytest.approx(12.0, abs=0.01)
    assert half == pytest.approx(1.96 * 0.4, abs=0.01)


def test_what_lies_well_behind_changes_nothing() -> None:
    alone = least(np.array([12.0]), np.array([0.4]), ["spoke 0"])
    assert least(np.array([12.0, 30.0]), np.array([0.4, 2.0]), ["spoke 0", "ring 1"]) == pytest.approx(alone, abs=0.01)


def test_readings_of_one_thing_count_once() -> None:
    alone = least(np.array([12.0]), np.array([0.4]), ["paint"])
    assert least(np.array([12.0, 12.0]), np.array([0.4, 0.4]), ["paint", "paint"]) == pytest.approx(alone, abs=0.01)


def test_interval_holds_the_least_of_many() -> None:
    rng = np.random.default_rng(5)
    true, sd = np.array([10.0, 10.3, 10.5, 12.0]), np.array([0.3, 0.6, 0.2, 1.5])
    parts = [f"spoke {k}" for k in range(len(true))]
    errors, inside = [], []
    for _ in range(300):
        # Any distances may be true: they are drawn about the readings, as the readings about them.
        middle, half = least(true, sd, parts)
        off = float((true + rng.normal(0, sd)).min()) - middle
        errors.append(off)
        inside.append(abs(off) <= half)
    assert abs(float(np.median(errors))) < 0.06
    assert 0.91 < float(np.mean(inside)) < 0.99


def test_no_jump_where_two_change_places() -> None:
    shifts = np.linspace(-0.5, 0.5, 101)
    found = [least(np.array([10.0, 10.0 + d]), np.array([0.2, 0.8]), ["ring 0", "spoke 0"]) for d in shifts]
    assert np.abs(np.diff(found, axis=0)).max() < 0.02
