"""A stroke as a straight line plus what a hand adds to it: one linear model, fitted to all strokes at once.

e(r) = c0 + c1 u + c2 P2(u) + .. + c5 P5(u), u = -1 .. 1 over the stroke, P the Legendre polynomials. They are
orthogonal over the stroke, so c0 + c1 u is the least-squares line through the whole stroke even where parts of it are
missing.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.legendre import legendre as polynomials
from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Highest bow. Higher ones are not told from grain.
DEGREE = 5
#: The grain of chalk is one independent value per this length (measured: rows are uncorrelated beyond 1.45 mm).
GRAIN_MM = 1.45
#: A ruler's line still bows by this much (its edge, the chalk's width); worth a stroke when bows are learned.
RULED_MM, RULED_STROKES = 0.006, 1
#: Standard deviation, mm, of a stroke's line about what the first pass found: leaves it free where there is chalk, and
#: holds it where hardly any is left.
FREE_MM = 1.5
#: Residuals beyond this many standard deviations count for nothing.
TUKEY = 4.0


def legendre(along_mm: Floats, inner_mm: Floats, outer_mm: Floats, degree: int = DEGREE) -> Floats:
    """Legendre polynomials (S, R, degree + 1) over strokes from `inner_mm` to `outer_mm` (S,)."""
    middle, half = (inner_mm + outer_mm) / 2, np.maximum((outer_mm - inner_mm) / 2, 1e-6)
    u = (along_mm - middle[:, None]) / half[:, None]
    return polynomials(np.clip(u, -1.15, 1.15), degree)


class Fit(NamedTuple):
    """Coefficients (S, P) with covariance (S, P, P) and the weights (S, R) that rows kept.

    `residual_mm` (S, R); `variance` (S,): of a row of weight 1 as the fit assumed it.
    """

    coefficients: Floats
    covariance: Floats
    weights: Floats
    residual_mm: Floats
    variance: Floats


def solve(
    basis: Floats, offset_mm: Floats, weights: Floats, variance: Floats, prior_mm: Floats
) -> tuple[Floats, Floats]:
    """Posterior mean (S, P) and covariance (S, P, P): rows of `variance` / `weights`, N(0, prior^2)."""
    weighted = (basis * (weights / variance[:, None])[..., None]).transpose(0, 2, 1)
    normal = weighted @ basis
    index = np.arange(basis.shape[2])
    normal[:, index, index] += 1 / np.broadcast_to(prior_mm, basis.shape[::2]) ** 2
    covariance = np.linalg.inv(normal)
    right = weighted @ np.where(weights > 0, offset_mm, 0.0)[..., None]
    return (covariance @ right)[..., 0], np.asarray(covariance, float)


def curves(basis: Floats, coefficients: Floats) -> Floats:
    """Paths (S, R) of strokes with these coefficients (S, P)."""
    return np.asarray((basis @ coefficients[..., None])[..., 0], float)


def tukey(residual: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Weights (S, R) with outliers taken out, and the variance (S,) of a row of weight 1, by the median."""
    scaled = np.abs(residual) * np.sqrt(weights)
    # Hardly drawn rows would make the spread of the others look small.
    drawn = weights > 0.05
    count = drawn.sum(1)
    ordered = np.sort(np.where(drawn, scaled, np.inf), axis=1)
    middle = np.maximum((count - 1) // 2, 0)
    spread = np.where(count > 3, 1.4826 * ordered[np.arange(len(ordered)), middle], np.nan)
    known = spread[np.isfinite(spread)]
    usual = median(known) if len(known) else 0.05
    # A few rows can agree by chance: a stroke's own spread is steadied by the usual one.
    spread = np.where(np.isfinite(spread), np.sqrt(0.5 * spread**2 + 0.5 * usual**2), usual)
    spread = np.maximum(spread, 1e-4)
    keep = np.clip(1 - (scaled / (TUKEY * spread[:, None])) ** 2, 0, 1) ** 2
    return weights * keep, spread**2


def robust_fit(
    basis: Floats, offset_mm: Floats, weights: Floats, prior_mm: Floats, step_mm: float, rounds: int = 4
) -> Fit:
    """Fit with outliers taken out (Tukey's biweight, Beaton & Tukey, Technometrics 16 (1974) 147)."""
    offset = np.where(weights > 0, offset_mm, 0.0)
    kept = weights
    variance = np.full(len(basis), 0.06**2)
    coefficients, covariance = solve(basis, offset, kept, variance * _grain(step_mm), prior_mm)
    for _ in range(rounds):
        residual = offset - curves(basis, coefficients)
        kept, variance = tukey(residual, weights)
        coefficients, covariance = solve(basis, offset, kept, variance * _grain(step_mm), prior_mm)
    residual = offset - curves(basis, coefficients)
    return Fit(coefficients, covariance, kept, residual, variance)


def _grain(step_mm: float) -> float:
    """How many rows share one independent value of the grain."""
    return max(1.0, GRAIN_MM / step_mm)
