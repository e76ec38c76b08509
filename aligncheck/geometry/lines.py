"""Straight lines through points that are off in both directions."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LineFit:
    """A line through `point` along the unit vector `direction`.

    Attributes
    ----------
    point, direction : ndarray (2,)
        The (weighted) middle of the points, and the line's direction, x component not negative.
    covariance : ndarray (2, 2)
        Of the offset across the line at `point` (length squared) and of its angle (radians squared).
    residual_sd : float
        Standard deviation of a point of weight 1 across the line.
    """

    point: Floats
    direction: Floats
    covariance: Floats
    residual_sd: float

    @property
    def across(self) -> Floats:
        """Unit vector (2,) a quarter turn from `direction` (clockwise as seen with y down)."""
        return np.array([-self.direction[1], self.direction[0]])

    @property
    def slope(self) -> float:
        """Rise of y over x."""
        return float(self.direction[1] / self.direction[0])

    @property
    def intercept(self) -> float:
        """The line's y where x is 0."""
        return float(self.point[1] - self.slope * self.point[0])

    def offset_variance(self, along: float) -> float:
        """Variance across the line at the distance `along` from `point`."""
        step = np.array([1.0, along])
        return float(step @ self.covariance @ step)


def fit_line(points: ArrayLike, weights: ArrayLike | None = None) -> LineFit:
    """Line of least squared distances across it (Pearson, Phil. Mag. 2 (1901) 559).

    Parameters
    ----------
    points : ndarray (n, 2)
    weights : ndarray (n,), optional
        Inverse variances of the distances, up to a factor.

    Raises
    ------
    ValueError
        If there are fewer than three points.
    """
    p = np.asarray(points, float)
    if len(p) < 3:
        raise ValueError(f"a line and its spread need three points, got {len(p)}")
    w = np.ones(len(p)) if weights is None else np.asarray(weights, float)
    middle = (w[:, None] * p).sum(0) / w.sum()
    q = (p - middle) * np.sqrt(w)[:, None]
    _, vectors = np.linalg.eigh(q.T @ q)
    direction = vectors[:, 1]
    if direction[0] < 0 or (direction[0] == 0 and direction[1] < 0):
        direction = -direction
    along, across = q @ direction, q @ np.array([-direction[1], direction[0]])
    variance = float(across @ across) / (len(p) - 2)
    covariance = variance * np.diag([1 / w.sum(), 1 / float(along @ along)])
    return LineFit(middle, direction, covariance, float(np.sqrt(variance)))


@dataclass(frozen=True)
class WeightedLine:
    """y = intercept + slope x; `covariance` (2, 2) of (intercept, slope); `chi2` the weighted squares left."""

    intercept: float
    slope: float
    covariance: Floats
    chi2: float


def fit_line_weighted(x: ArrayLike, y: ArrayLike, weight_x: ArrayLike, weight_y: ArrayLike) -> WeightedLine:
    """Line through points whose x and y have inverse variances of their own.

    The covariance is that of York, Evensen, Lopez Martinez & De Basabe Delgado (Am. J. Phys. 72 (2004) 367), taken at
    the adjusted points and not scaled by chi squared.

    Raises
    ------
    ValueError
        If there are fewer than three points.
    """
    x, y, wx, wy = (np.asarray(v, float) for v in (x, y, weight_x, weight_y))
    if len(x) < 3:
        raise ValueError(f"a weighted line needs three points, got {len(x)}")
    slope = float(np.polyfit(x, y, 1)[0])
    for _ in range(200):
        w = wx * wy / (wx + slope**2 * wy)
        mx, my = (w * x).sum() / w.sum(), (w * y).sum() / w.sum()
        u, v = x - mx, y - my
        beta = w * (u / wy + slope * v / wx)
        before, slope = slope, float((w * beta * v).sum() / (w * beta * u).sum())
        if abs(slope - before) <= 1e-15 * max(1.0, abs(slope)):
            break
    intercept = float(my - slope * mx)
    adjusted = mx + beta
    middle = (w * adjusted).sum() / w.sum()
    variance = 1 / float((w * (adjusted - middle) ** 2).sum())
    covariance = np.array([[1 / w.sum() + middle**2 * variance, -middle * variance], [-middle * variance, variance]])
    return WeightedLine(intercept, slope, covariance, float((w * (y - intercept - slope * x) ** 2).sum()))
