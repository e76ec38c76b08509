"""Join what boards say of a lens with what the straight sides of their sheets say.

The boards enter as their best lens and its information (camera places eliminated), the sides as the offsets of their
points from a straight line after the bend is taken out. A sheet is not cut or laid perfectly straight: how far its
sides bow is learned from all of them together, so that curled sheets count for little by themselves.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from aligncheck.geometry.legendre import legendre
from aligncheck.lens.bend import Lens

Floats = NDArray[np.float64]

#: Bow (second Legendre term), px, that sides have at least, and where too few tell how much they have.
BOW_LEAST_PX, BOW_UNKNOWN_PX = 0.02, 0.5
#: So many sides tell how much sides bow.
SIDES_ENOUGH = 6
#: A side that bows by so many times what sides do is something else (a shadow, a table's edge) and loses its weight.
ODD = 3.0
#: Rounds of fitting and weighing; the bow and the weights settle in two or three.
ROUNDS = 4
#: Neighbouring points share the paper's roughness and the table's grain: noise counts this much more.
SHARED_NOISE = 1.5


@dataclass(frozen=True)
class Joined:
    """The refined lens.

    Attributes
    ----------
    values : ndarray (5,)
        focal, cx, cy, k1, k2.
    covariance : ndarray
        Of the free ones among them, in their order.
    chi2 : float
        What boards and sides cost, on top of the boards' own best fit.
    bow_px : float or None
        How far the sides themselves bow, as a standard deviation.
    """

    values: Floats
    covariance: Floats
    chi2: float
    bow_px: float | None


def join(
    values: Floats, free: Sequence[int], information: Floats, sides: Sequence[Floats], bow_px: float | None = None
) -> Joined:
    """Refine the `free` ones of `values` (5,), of which boards give `information`, by straight `sides`.

    Each side is (n, 2) pixels in order along it. `bow_px` holds the sides' own bow fixed; else it is learned.
    """
    columns = list(free)
    if not sides:
        return Joined(values, np.asarray(np.linalg.inv(information), float), 0.0, bow_px)
    root = np.linalg.cholesky(information).T
    scale = np.sqrt(np.diag(np.linalg.inv(information)))
    bow = BOW_UNKNOWN_PX if bow_px is None else bow_px

    def lens_at(step: Floats) -> Floats:
        lens = values.copy()
        lens[columns] += step * scale
        return lens

    step = np.zeros(len(columns))
    plumb = [_Plumb.laid(values, side) for side in sides]
    weights = np.ones(len(plumb))
    for _ in range(ROUNDS):

        def misfit(step: Floats, bow: float = bow, weights: Floats = weights) -> Floats:
            lens = lens_at(step)
            parts = [w * p.whitened(lens, bow) for w, p in zip(weights, plumb, strict=True)]
            return np.concatenate([root @ (step * scale), *parts])

        fit = least_squares(misfit, step, method="lm")
        step = fit.x
        bow = _typical_bow(lens_at(step), plumb) if bow_px is None else bow
        rest = np.array([np.abs(p.whitened(lens_at(step), bow)).max() for p in plumb])
        weights = np.minimum(1.0, (ODD / np.maximum(rest, ODD)) ** 2)
    jacobian = fit.jac / scale
    return Joined(lens_at(step), np.linalg.inv(jacobian.T @ jacobian), 2 * float(fit.cost), bow)


@dataclass(frozen=True)
class _Plumb:
    """One side with what does not change while the lens is sought.

    `to_terms` (4, n) takes the offsets of its points from their line to Legendre terms, `noise` (4,) is the terms'
    standard deviation from the points' scatter.
    """

    side: Floats
    to_terms: Floats
    noise: Floats

    @classmethod
    def laid(cls, lens: Floats, side: Floats) -> "_Plumb":
        offsets, u = _offsets(lens, side)
        basis = legendre(u, 3)
        to_terms = np.asarray(np.linalg.pinv(basis), float)
        rest = offsets - basis @ (to_terms @ offsets)
        sd = np.sqrt((to_terms**2).sum(1))
        return cls(side, to_terms, SHARED_NOISE * float(np.std(rest)) * sd)

    def terms(self, lens: Floats) -> Floats:
        """Legendre terms (4,) of the side under this lens, px."""
        return np.asarray(self.to_terms @ _offsets(lens, self.side)[0], float)

    def whitened(self, lens: Floats, bow: float) -> Floats:
        """Bow and S shape in units of what they may be by chance; the rest tells nothing of the lens."""
        # An S shape is rarer than a bow on cut paper: half its size.
        return self.terms(lens)[2:] / np.sqrt(self.noise[2:] ** 2 + np.array([bow, bow / 2]) ** 2)


def _offsets(lens: Floats, side: Floats) -> tuple[Floats, Floats]:
    """Offsets (n,) of a side's points from their line, px, and their places along it, -1 to 1."""
    points = Lens(*lens).unbend(side) * lens[0]
    points = points - points.mean(0)
    # Along and across from the ends: steady under the optimiser's small steps, where a singular vector may flip.
    along = points[-1] - points[0]
    along = along / np.linalg.norm(along)
    s = points @ along
    u = 2 * (s - s.min()) / np.ptp(s) - 1
    return points @ np.array([-along[1], along[0]]), u


def _typical_bow(lens: Floats, sides: Sequence[_Plumb]) -> float:
    """Standard deviation of the sides' own bow, px, robustly over all of them."""
    if len(sides) < SIDES_ENOUGH:
        return BOW_UNKNOWN_PX
    bows = np.array([side.terms(lens)[2] for side in sides])
    # Two lens terms were fitted to them, hence the factor for lost freedom; 1.4826: from median to sd.
    free = np.sqrt(len(sides) / (len(sides) - 2))
    return max(1.4826 * float(np.median(np.abs(bows))) * free, BOW_LEAST_PX)
