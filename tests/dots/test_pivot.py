"""Where dots turn, from the dots alone."""

import numpy as np
import pytest

from aligncheck.dots.pivot import find_pivot


def dots(order: int, kinds: int, seed: int, strays: int = 0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places by hand, radii and colours of `kinds` kinds about (2, -1), and as many strays as asked."""
    rng = np.random.default_rng(seed)
    xy, radius, colour = [], [], []
    for _ in range(kinds):
        far, turn, size, paint = rng.uniform(15, 110), rng.uniform(0, 7), rng.uniform(0.7, 6), rng.uniform(-0.3, 0.3, 3)
        for k in range(order):
            angle = turn + 2 * np.pi * k / order
            xy.append(np.array([np.sin(angle), -np.cos(angle)]) * far + rng.normal(0, 0.3, 2) + (2, -1))
            radius.append(size * np.exp(rng.normal(0, 0.04)))
            colour.append(paint + rng.normal(0, 0.02, 3))
    for _ in range(strays):
        xy.append(rng.uniform(-140, 140, 2))
        radius.append(rng.uniform(0.7, 6))
        colour.append(rng.uniform(-0.3, 0.3, 3))
    return np.array(xy), np.array(radius), np.array(colour)


@pytest.mark.parametrize(("order", "kinds", "strays"), [(12, 20, 0), (10, 12, 200), (3, 12, 0), (24, 6, 100)])
def test_the_point_is_found_from_a_start_far_off(order: int, kinds: int, strays: int) -> None:
    xy, radius, colour = dots(order, kinds, seed=order, strays=strays)
    found = find_pivot(xy, radius, colour, np.ones(len(xy)), order, np.array([6.0, 2.0]), 0.06)
    assert found is not None
    assert np.hypot(*(found.xy_mm - (2, -1))) < 3 * np.sqrt(found.covariance[0, 0]) + 0.05


def test_strays_alone_turn_about_nothing() -> None:
    xy, radius, colour = dots(12, 0, seed=5, strays=300)
    assert find_pivot(xy, radius, colour, np.ones(len(xy)), 12, np.zeros(2), 0.06) is None
