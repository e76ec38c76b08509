"""From covariances to 95 % figures."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

#: Two-sided 95 % point of the normal distribution.
NORMAL_95 = 1.959964


def u95_number(variance: float) -> float:
    """Half-width of the 95 % interval of a number with this variance."""
    return NORMAL_95 * float(np.sqrt(max(variance, 0.0)))


def u95_point(covariance: ArrayLike) -> float:
    """Radius of the disc that holds a point with 95 % probability, for its 2 x 2 `covariance`.

    The squared distance is a weighted sum of two chi-squared numbers; its 95 % point is taken from
    Wilson and Hilferty's cube-root normal approximation on the mean (trace) and the variance (twice the trace of
    the square), Proc. Natl. Acad. Sci. 17 (1931) 684.
    """
    c = np.asarray(covariance, float)
    mean, square = float(np.trace(c)), float(np.trace(c @ c))
    if mean <= 0:
        return 0.0
    return float(_radius(mean, square))


def u95_points(covariances: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same (n,) for many points, their `covariances` (n, 2, 2) above nothing."""
    c = covariances
    return np.asarray(_radius(np.trace(c, axis1=1, axis2=2), (c**2).sum((1, 2))), float)


def _radius(trace: Any, trace_of_square: Any) -> Any:
    """The radius from traces of a covariance and its square, numbers or arrays alike."""
    spread = 2 * trace_of_square / (9 * trace**2)
    # 1.644854: one-sided 95 % point of the normal distribution.
    return np.sqrt(trace * (1 - spread + 1.644854 * np.sqrt(spread)) ** 3)
