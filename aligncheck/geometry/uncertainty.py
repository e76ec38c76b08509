"""From covariances to 95 % figures."""

import numpy as np
from numpy.typing import ArrayLike

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
    freedom = mean**2 / square
    # 1.644854: one-sided 95 % point of the normal distribution.
    cube = 1 - 2 / (9 * freedom) + 1.644854 * np.sqrt(2 / (9 * freedom))
    return float(np.sqrt(mean * cube**3))
