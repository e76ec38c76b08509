"""The normal distribution function without SciPy, whose import would cost more than measuring a panel's sides."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: Of powers 5 to 1 of t.
COEFFICIENTS = (1.061405429, -1.453152027, 1.421413741, -0.284496736, 0.254829592)


def normal_cdf(z: ArrayLike) -> Floats:
    """Probability that a standard normal number is at most `z` (any shape), to 1e-7, in single precision if `z` is.

    Hastings' rational approximation of the error function: Abramowitz and Stegun (1964), 7.1.26, whose stated error is
    1.5e-7 for erf.
    """
    # Step by step in two arrays: so many temporary ones would cost more than the arithmetic.
    x = np.atleast_1d(np.asarray(z))
    x = x * np.float32(np.sqrt(0.5)) if x.dtype == np.float32 else x / np.sqrt(2.0)
    t = np.abs(x)
    t *= 0.3275911
    t += 1.0
    np.divide(1.0, t, out=t)
    tail = t * COEFFICIENTS[0]
    for coefficient in COEFFICIENTS[1:]:
        tail += coefficient
        tail *= t
    below = x < 0
    x *= x
    np.exp(np.negative(x, out=x), out=x)
    tail *= x
    tail *= 0.5
    np.subtract(1.0, tail, out=tail, where=~below)
    return tail.reshape(np.shape(z))
