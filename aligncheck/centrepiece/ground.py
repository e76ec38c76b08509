"""The bare panel: its colour everywhere, also under what lies on it: a smooth surface through what surely is bare."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.channels import lengths
from aligncheck.geometry.legendre import legendre
from aligncheck.geometry.small import weighted_median

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Side of the blocks whose medians are fitted, mm: chalk covers less than half of such a block, so the median is panel.
BLOCK_MM = 4.0
#: What to put in order, two by two, so that the fifth of nine numbers is their median.
EXCHANGES = (
    (1, 2), (4, 5), (7, 8), (0, 1), (3, 4), (6, 7), (1, 2), (4, 5), (7, 8), (0, 3),
    (5, 8), (4, 7), (3, 6), (1, 4), (2, 5), (4, 7), (4, 2), (6, 4), (4, 2),
)  # fmt: skip
#: The sides' surroundings are bare on nearly every panel, its middle is what is asked about.
OUTER_SHARE, INNER_WEIGHT = 0.2, 0.35
#: Degrees of the surface, one after the other: a stiff one first finds what is panel, the last follows the light.
DEGREES = (1, 2, 3, 4)
#: Rounds of reweighting at each degree (with fewer, glare over a third of the panel passes for panel), and the least
#: spread that counts as noise (of cube-root colours).
ROUNDS, LEAST_SPREAD = 4, 0.006
#: Holds terms of high degree down where a piece hides the panel, in units of blocks.
STIFFNESS = 0.3


class Ground(NamedTuple):
    """The bare panel's cube-root colour as polynomials of x, y over a half-size.

    Attributes
    ----------
    coefficients : ndarray (terms, 3)
    half_mm : (float, float)
        Half the panel's width and height.
    spread : float
        Typical distance of bare blocks from the surface.
    """

    coefficients: Floats
    half_mm: tuple[float, float]
    spread: float

    def at(self, points_mm: Floats) -> Floats:
        """Colour (..., 3) at panel points (..., 2)."""
        p = np.asarray(points_mm, float) / self.half_mm
        return np.asarray(_terms(p[..., 0], p[..., 1], DEGREES[-1]) @ self.coefficients, float)

    def image(self, shape: tuple[int, int], px_per_mm: float, origin_px: tuple[float, float]) -> Singles:
        """Colour (h, w, 3) of a view."""
        coarse = 16
        h, w = -(-shape[0] // coarse) + 2, -(-shape[1] // coarse) + 2
        xs = ((np.arange(w) - 0.5) * coarse - 0.5 - origin_px[0]) / px_per_mm
        ys = ((np.arange(h) - 0.5) * coarse - 0.5 - origin_px[1]) / px_per_mm
        nodes = np.maximum(self.at(np.stack(np.meshgrid(xs, ys), -1)), 0.02).astype(np.float32)
        full = cv2.resize(nodes, (w * coarse, h * coarse), interpolation=cv2.INTER_LINEAR)
        return np.asarray(full[coarse : coarse + shape[0], coarse : coarse + shape[1]], np.float32)


def fit_ground(
    colours: Singles, px_per_mm: float, half_mm: tuple[float, float], hidden: NDArray[np.bool_] | None = None
) -> Ground:
    """Fit the bare panel.

    Parameters
    ----------
    colours : ndarray (h, w, 3)
        Flat view of the whole panel in cube-root colours.
    hidden : ndarray (h, w) of bool, optional
        Pixels that are known not to be panel.
    """
    block = max(1, round(BLOCK_MM * px_per_mm))
    blocks, share = _block_medians(colours, block, hidden)
    y, x = (np.arange(n) + 0.5 for n in blocks.shape[:2])
    y, x = np.meshgrid(y * block / colours.shape[0] * 2 - 1, x * block / colours.shape[1] * 2 - 1, indexing="ij")
    outer = np.maximum(np.abs(x), np.abs(y)) > 1 - OUTER_SHARE
    base = np.where(outer, 1.0, INNER_WEIGHT) * share
    terms = _terms(x, y, DEGREES[-1])
    coefficients, spread = np.zeros((terms.shape[-1], 3)), 0.0
    for degree in DEGREES:
        # The stiff surfaces only prepare the last one: a quarter of the blocks tells them as well.
        step = 1 if degree == DEGREES[-1] else 2
        values = blocks[::step, ::step].reshape(-1, 3)
        own, trust = terms[::step, ::step].reshape(-1, terms.shape[-1]), base[::step, ::step].ravel()
        count = len(_powers(degree))
        for _ in range(ROUNDS):
            weight = trust if spread == 0 else trust / (1 + (_away(values, own, coefficients) / (2 * spread)) ** 2) ** 2
            coefficients[:count] = _solved(values, own[:, :count], weight, degree)
            spread = max(weighted_median(_away(values, own, coefficients), trust), LEAST_SPREAD)
    return Ground(coefficients, half_mm, spread)


def _away(values: Singles, terms: Floats, coefficients: Floats) -> Floats:
    """Distance (n,) of values (n, 3) from the surface."""
    rest = (values - terms @ coefficients).astype(np.float32)
    return lengths(rest).astype(float)


def _solved(values: Singles, terms: Floats, weight: Floats, degree: int) -> Floats:
    """Coefficients (terms, 3) of the weighted least-squares surface."""
    weighted = terms * weight[:, None]
    penalty = np.array([STIFFNESS * max(i + j - 1, 0) for i, j in _powers(degree)])
    return np.asarray(np.linalg.solve(terms.T @ weighted + np.diag(penalty**2), weighted.T @ values), float)


def _block_medians(colours: Singles, block: int, hidden: NDArray[np.bool_] | None) -> tuple[Singles, Floats]:
    """Colour (median of nine places) of each block, and the share of it that may be panel."""
    rows, columns = colours.shape[0] // block, colours.shape[1] // block
    cut = colours[: rows * block, : columns * block].reshape(rows, block, columns, block, 3)
    places = [block // 6, block // 2, block - 1 - block // 6]
    values = _median_of_nine([cut[:, i, :, j].copy() for i in places for j in places])
    if hidden is None:
        return values, np.ones((rows, columns))
    covered = hidden[: rows * block, : columns * block].reshape(rows, block, columns, block).mean((1, 3))
    return values, (covered < 0.02).astype(float)


def _powers(degree: int) -> list[tuple[int, int]]:
    """Exponents of x and y, low degrees first."""
    return [(i, d - i) for d in range(degree + 1) for i in range(d, -1, -1)]


def _terms(x: Floats, y: Floats, degree: int) -> Floats:
    """Legendre products at x, y in -1..1: shape (..., terms)."""
    px = legendre(x, degree)
    py = legendre(y, degree)
    return np.stack([px[..., i] * py[..., j] for i, j in _powers(degree)], axis=-1)


def _median_of_nine(values: list[Singles]) -> Singles:
    """Median (...) of nine pictures (...) place by place: all places at once, so ten times as fast as sorting each."""
    for i, j in EXCHANGES:
        values[i], values[j] = np.minimum(values[i], values[j]), np.maximum(values[i], values[j])
    return values[4]
