"""Carry a covariance through a function: JCGM 100:2008 (GUM), 5.2 and annex H.2."""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def jacobian(function: Callable[[Floats], ArrayLike], at: ArrayLike, steps: ArrayLike) -> Floats:
    """Derivatives (m, n) of `function` from (n,) to (m,) at `at`, by central differences over `steps` (n,)."""
    x, h = np.asarray(at, float), np.broadcast_to(np.asarray(steps, float), np.shape(at))
    columns = []
    for k in range(len(x)):
        move = np.zeros(len(x))
        move[k] = h[k]
        columns.append((np.atleast_1d(function(x + move)) - np.atleast_1d(function(x - move))) / (2 * h[k]))
    return np.stack(columns, axis=-1)


def propagate(
    function: Callable[[Floats], ArrayLike], at: ArrayLike, covariance: ArrayLike, reach: float = 1e-3
) -> tuple[Floats, Floats]:
    """Values (m,) of `function` at `at` (n,) and their covariance (m, m), to first order.

    Steps are `reach` standard deviations; an input without variance is stepped by `reach` of its size, which then
    does not matter.
    """
    x, c = np.asarray(at, float), np.asarray(covariance, float)
    sd = np.sqrt(np.diag(c))
    j = jacobian(function, x, np.where(sd > 0, sd, np.maximum(np.abs(x), 1.0)) * reach)
    return np.atleast_1d(np.asarray(function(x), float)), j @ c @ j.T
