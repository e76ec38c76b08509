"""Circles of least squared distances."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CircleFit:
    """A circle fitted to points.

    Attributes
    ----------
    radius : float
    centre : ndarray (2,)
    covariance : ndarray (3, 3)
        Of radius, centre x, centre y, with the residuals' own variance.
    residuals : ndarray (n,)
        Distance from the centre less the radius.
    """

    radius: float
    centre: Floats
    covariance: Floats
    residuals: Floats


def fit_circle(points: ArrayLike, weights: ArrayLike | None = None) -> CircleFit:
    """Circle of least squared radial distances, as Gander, Golub & Strebel (BIT 34 (1994) 558) define it.

    Gauss-Newton with damping, from the algebraic circle.

    Parameters
    ----------
    points : ndarray (n, 2)
    weights : ndarray (n,), optional
        Inverse variances of the radial distances, up to a factor.

    Raises
    ------
    ValueError
        If there are fewer than four points, or if they lie on a line.
    """
    p = np.asarray(points, float)
    if len(p) < 4:
        raise ValueError(f"a circle and its spread need four points, got {len(p)}")
    root = np.ones(len(p)) if weights is None else np.sqrt(np.asarray(weights, float))
    centre, radius = algebraic_circle(p)
    found = np.array([radius, *centre])
    damping = 1e-3
    jacobian, residual = _radial(p, found, root)
    for _ in range(500):
        normal, gradient = jacobian.T @ jacobian, jacobian.T @ residual
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -gradient)
        new_jacobian, new_residual = _radial(p, found + step, root)
        if new_residual @ new_residual <= residual @ residual:
            found, jacobian, residual, damping = found + step, new_jacobian, new_residual, damping / 10
            if np.abs(step).max() <= 1e-13 * max(1.0, np.abs(found).max()):
                break
        elif damping > 1e8:
            break
        else:
            damping *= 10
    variance = float(residual @ residual) / (len(p) - 3)
    covariance = np.asarray(variance * np.linalg.inv(jacobian.T @ jacobian), float)
    return CircleFit(float(found[0]), found[1:], covariance, residual / root)


def algebraic_circle(points: ArrayLike) -> tuple[Floats, float]:
    """Centre (2,) and radius of Kasa's circle (IEEE Trans. Instrum. Meas. 25 (1976) 8): quick, too small on short arcs.

    Raises
    ------
    ValueError
        If the points lie on a line.
    """
    p = np.asarray(points, float)
    middle = p.mean(0)
    q = p - middle
    matrix = np.column_stack([2 * q, np.ones(len(q))])
    if np.linalg.matrix_rank(matrix, tol=1e-9 * float(np.abs(q).max() or 1.0)) < 3:
        raise ValueError("the points lie on a line, no circle passes through them")
    x, y, c = np.linalg.lstsq(matrix, (q * q).sum(1), rcond=None)[0]
    return middle + (x, y), float(np.sqrt(c + x * x + y * y))


def _radial(p: Floats, found: Floats, root: Floats) -> tuple[Floats, Floats]:
    """Jacobian (n, 3) by radius, x, y and residuals (n,) of the radial distances, times the weights' roots."""
    off = p - found[1:]
    distance = np.hypot(off[:, 0], off[:, 1])
    # A point in the very centre has no direction; any will do.
    outward = off / np.maximum(distance, 1e-12)[:, None]
    return np.column_stack([-np.ones(len(p)), -outward]) * root[:, None], (distance - found[0]) * root
