"""Legendre polynomials; NumPy's package of all kinds of polynomials takes longer to load than to use."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def legendre(x: ArrayLike, degree: int) -> Floats:
    """Polynomials of degree 0 to `degree` at x (...), -1 to 1: shape (..., degree + 1), by Bonnet's recursion."""
    at = np.asarray(x, float)
    values = np.empty((degree + 1, *at.shape))
    values[0] = 1.0
    if degree > 0:
        values[1] = at
    for n in range(2, degree + 1):
        values[n] = (values[n - 1] * at * (2 * n - 1) - values[n - 2] * (n - 1)) / n
    return np.moveaxis(values, 0, -1)
