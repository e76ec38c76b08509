"""Domes under one lamp: a drawn one is found again, and where the lamp stands is told by shade and shadow."""

import numpy as np
import pytest

from aligncheck.dots.shading import Domes, Picture, patterns, within


@pytest.mark.parametrize("way_deg", [10.0, 135.0, 260.0])
def test_a_dome_is_found_from_its_highlight(way_deg: float) -> None:
    """Paint as light as the panel: lighter towards the lamp, darker away from it; only its highlight was seen."""
    reach, radius, dot = 14, 7.0, 2.6
    towards = np.array([np.cos(np.radians(way_deg)), np.sin(np.radians(way_deg))])
    y, x = (v.astype(float) - reach for v in np.nonzero(within(reach)))
    middle = -0.5 * radius * towards
    u, v = (x - middle[0]) / radius, (y - middle[1]) / radius
    shapes = patterns(u * towards[0] + v * towards[1], v * towards[0] - u * towards[1], 0.75 / radius)
    light = np.array([0.0, -0.06, 0.0, 0.12, -0.05, 0.3]) @ shapes + np.random.default_rng(1).normal(0, 0.005, len(x))
    picture = Picture(light, np.ones(len(x)), x, y, 0.2, 0.2 * dot)
    domes = Domes.lit_from(towards, reach)
    first = domes.best(picture, 0.14)
    assert first is not None
    found = domes.fitted(picture, *first)
    assert np.hypot(*(found.middle - middle)) < 0.3
    assert abs(found.radius - radius) < 0.3
    assert found.left < 0.2 * domes.fitted(picture, np.zeros(2), dot).left
