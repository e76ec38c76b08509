"""Linear least squares with the covariance of what it finds."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LinearFit:
    """What a linear fit found.

    Attributes
    ----------
    values : ndarray (n,)
    covariance : ndarray (n, n)
        With the residuals' own variance, or the true one where the weights are inverse variances.
    residual_sd : float
        Standard deviation of one observation of weight 1, from the residuals.
    freedom : int
        Observations less unknowns.
    """

    values: Floats
    covariance: Floats
    residual_sd: float
    freedom: int


def fit_linear(
    design: ArrayLike, observed: ArrayLike, weights: ArrayLike | None = None, known: bool = False
) -> LinearFit:
    """Solve `design` (m, n) x = `observed` (m,) by least squares.

    Parameters
    ----------
    weights : ndarray (m,), optional
        Inverse variances, up to a factor; equal where not given.
    known : bool
        The weights are inverse variances in full: the covariance is then not scaled by the residuals.

    Raises
    ------
    ValueError
        If there are not more observations than unknowns.

    Notes
    -----
    By singular values of the design with columns scaled to length 1, so that powers of a large x (NIST StRD Pontius)
    keep their digits.
    """
    a, y = np.asarray(design, float), np.asarray(observed, float)
    freedom = len(y) - a.shape[1]
    if freedom < 1 and not known:
        raise ValueError(f"{len(y)} observations are too few for {a.shape[1]} unknowns and their spread")
    root = np.ones(len(y)) if weights is None else np.sqrt(np.asarray(weights, float))
    a, y = a * root[:, None], y * root
    scale = np.linalg.norm(a, axis=0)
    u, s, vt = np.linalg.svd(a / scale, full_matrices=False)
    values = vt.T @ ((u.T @ y) / s) / scale
    residual = y - a @ values
    variance = float(residual @ residual) / max(freedom, 1)
    unscaled = (vt.T / s**2) @ vt / np.outer(scale, scale)
    return LinearFit(values, unscaled * (1.0 if known else variance), float(np.sqrt(variance)), freedom)
