"""The normal distribution function without SciPy, whose import would cost more than measuring a panel's sides."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def normal_cdf(z: ArrayLike) -> Floats:
    """Probability that a standard normal number is at most `z` (any shape), to 1e-7.

    Hastings' rational approximation of the error function: Abramowitz and Stegun (1964), 7.1.26, whose stated error is
    1.5e-7 for erf.
    """
    x = np.asarray(z, float) / np.sqrt(2.0)
    t = 1.0 / (1.0 + 0.3275911 * np.abs(x))
    poly = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    tail = 0.5 * poly * np.exp(-x * x)
    return np.asarray(np.where(x < 0, tail, 1.0 - tail), float)
