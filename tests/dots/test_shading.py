"""Domes under one lamp: a drawn one is found again, and where the lamp stands is told by shade and shadow."""

import numpy as np
import pytest

from aligncheck.dots.pictures import Pictures, points
from aligncheck.dots.shading import Domes, patterns

REACH, RADIUS, DOT, LARGER = 14, 7.0, 2.6, 0.14


def highlights(ways_deg: list[float], towards: np.ndarray, far: float = 0.5) -> tuple[Pictures, np.ndarray]:
    """Paint as light as the panel: lighter towards the lamp, darker away from it; only its highlight was seen. A
    picture for each way in which the dome's middle lies, and these middles.
    """
    x, y = points(REACH)
    middle = far * RADIUS * np.column_stack([np.cos(np.radians(ways_deg)), np.sin(np.radians(ways_deg))])
    u, v = ((at - m[:, None]) / RADIUS for at, m in zip((x, y), middle.T, strict=True))
    turned = u * towards[0] + v * towards[1], v * towards[0] - u * towards[1]
    shapes = patterns(*turned, np.full((len(middle), 1), 0.75 / RADIUS))
    light = np.array([0.0, -0.06, 0.0, 0.12, -0.05, 0.3]) @ shapes
    light += np.random.default_rng(1).normal(0, 0.005, light.shape)
    across, down = (np.tile(at, (len(middle), 1)) for at in (x, y))
    count = len(middle)
    light = light.astype(np.float32)
    return (
        Pictures(light, np.ones_like(light), across, down, np.full(count, 0.2), np.full(count, 0.2 * DOT)),
        middle,
    )


@pytest.mark.parametrize("way_deg", [10.0, 135.0, 260.0])
def test_a_dome_is_found_from_its_highlight(way_deg: float) -> None:
    towards = np.array([np.cos(np.radians(way_deg)), np.sin(np.radians(way_deg))])
    pictures, middle = highlights([way_deg + 180], towards)
    domes = Domes.lit_from(towards, REACH)
    first, radius, larger = domes.best(pictures, LARGER)
    assert larger.all()
    found = domes.fitted(pictures, first, radius)
    assert np.hypot(*(found.middle - middle).T) < 0.3
    assert abs(found.radius - RADIUS) < 0.3
    assert found.left < 0.2 * domes.fitted(pictures, np.zeros((1, 2)), np.array([DOT])).left


def test_each_picture_is_worked_as_if_alone() -> None:
    """Many at once, of which some stop early: the same as one at a time."""
    towards = np.array([1.0, 0.0])
    pictures, _ = highlights([160.0, 180.0, 185.0, 200.0, 0.0], towards, 0.4)
    domes = Domes.lit_from(towards, REACH)
    hopeless = np.array([np.inf, np.inf, 0.0, np.inf, np.inf])
    together = domes.fitted(pictures, *domes.best(pictures, LARGER)[:2], hopeless=hopeless)
    for k in range(len(pictures)):
        one = pictures.take(np.array([k]))
        first, radius, _ = domes.best(one, LARGER)
        alone = domes.fitted(one.about(first, np.array([100.0])), first, radius, hopeless=hopeless[[k]])
        assert np.allclose(together.middle[k], alone.middle[0], atol=1e-3)
        assert np.isclose(together.radius[k], alone.radius[0], atol=1e-3)


def test_only_what_lies_about_a_place_counts() -> None:
    pictures, _ = highlights([180.0, 0.0], np.array([1.0, 0.0]))
    near = pictures.about(np.array([[0.0, 0.0], [3.0, 0.0]]), np.array([2.5, 4.5]))
    assert near.light.shape[1] < pictures.light.shape[1]
    count = near.weight.sum(1)
    assert list(count) == [21, 69]  # points within a circle, by hand
    assert (near.far_from(np.array([[0.0, 0.0], [3.0, 0.0]]))[near.weight > 0] < 4.5).all()
