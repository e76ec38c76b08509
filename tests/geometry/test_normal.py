"""The normal distribution function against SciPy's."""

import numpy as np
from scipy.special import ndtr

from aligncheck.geometry.normal import normal_cdf


def test_agrees_with_scipy_everywhere() -> None:
    z = np.linspace(-40, 40, 80_001)
    np.testing.assert_allclose(normal_cdf(z), ndtr(z), atol=1e-7)
    assert normal_cdf([[0.0, 1.959964]]).shape == (1, 2)


def test_is_smooth_enough_for_least_squares() -> None:
    """Its slope is the bell to a few millionths, also where the two halves meet."""
    z = np.linspace(-3, 3, 6001)
    slope = np.gradient(normal_cdf(z), z)[1:-1]
    np.testing.assert_allclose(slope, (np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi))[1:-1], atol=2e-4)
