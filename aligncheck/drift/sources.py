"""One linear propagation for every figure: each is a number with its gradient over all sources of error.

The sources stand in one long vector: first the panel map's ten parameters p (corners and lens), then four numbers a
stroke (offset across and along at its inner and its outer end), three a ring (radius, centre), two a point, last one
for rings that are drawn but not seen (:mod:`aligncheck.drift.compare`) and one for which spokes happen to be the middle
ones (:mod:`aligncheck.drift.turn`). A figure's variance is g' S g with S their covariance, as in the GUM's law of
propagation (JCGM 100:2008, 5.2), correlations between figures included for free: what two figures share cancels in
their difference.

A panel may be made in several ways (cut true, badly cut, stretched on bars), each with a map and a likelihood of its
own. That is a mixture of normal laws, so S comes in several and an interval holds 95 % of the mixture.
"""

from collections.abc import Callable
from math import erfc, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.uncertainty import NORMAL_95, u95_point
from aligncheck.panel import Panel
from aligncheck.panel.square import out_of_square

Floats = NDArray[np.float64]

MAP = 10
#: Where the last two sources stand: rings that are not seen, and which spokes are the middle ones. Variances 1.
UNSEEN, MIDDLE = -2, -1


class Number(NamedTuple):
    """A figure and its gradient (n,) over the sources."""

    value: float
    gradient: Floats


class Place(NamedTuple):
    """A point (2,) in panel mm and its gradient (2, n) over the sources."""

    xy_mm: Floats
    gradient: Floats


class Sources(NamedTuple):
    """Covariances of all sources (n, n), one for each kind of panel, with how likely that kind is."""

    covariances: tuple[Floats, ...]
    shares: tuple[float, ...]

    @property
    def covariance(self) -> Floats:
        """Covariance (n, n) of the mixture."""
        return np.asarray(np.tensordot(self.shares, self.covariances, axes=1), float)

    def variances(self, gradient: Floats) -> Floats:
        """Variance of a number with this `gradient`, for each kind of panel."""
        return np.array([gradient @ s @ gradient for s in self.covariances])

    def u95(self, number: Number) -> float:
        """Half-width of the interval that holds 95 %."""
        return self.u95_of_variance(self.variances(number.gradient))

    def u95_of_variance(self, variances: Floats) -> float:
        """Half-width that holds 95 % of the mixture of normal laws with these variances."""
        sd = np.sqrt(np.maximum(variances, 0.0))
        kinds = [(share, s * sqrt(2)) for share, s in zip(self.shares, sd.tolist(), strict=True) if s > 0]
        return _holds_95(lambda value: sum(share * erfc(value / s) for share, s in kinds), (NORMAL_95 * sd).tolist())

    def u95_point(self, place: Place) -> float:
        """Radius of the disc that holds the point with 95 %."""
        radii = [u95_point(place.gradient @ s @ place.gradient.T) for s in self.covariances]
        kinds = [(share, r) for share, r in zip(self.shares, radii, strict=True) if r > 0]
        # About its radius a disc's tail is close to that of an even plane normal law, whatever the covariance's shape.
        return _holds_95(lambda away: sum(share * 0.05 ** ((away / r) ** 2) for share, r in kinds), radii)


def _holds_95(tail: Callable[[float], float], bounds: list[float]) -> float:
    """Where the mixed `tail` (probability to lie beyond) falls to 5 %; it lies between the kinds' own bounds."""
    low, high = min(bounds), max(bounds)
    # Twelve halvings leave less than a thousandth of it.
    for _ in range(12 if high > low * (1 + 1e-9) else 0):
        middle = (low + high) / 2
        low, high = (middle, high) if tail(middle) > 0.05 else (low, middle)
    return high


def gather(panel: Panel, own: list[Floats]) -> Sources:
    """Join the panel map's covariance and the marks' `own` ones, block by block, and two last sources of variance 1."""
    size = MAP + sum(len(block) for block in own) + 2
    joined = np.zeros((size, size))
    at = MAP
    for block in own:
        joined[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    joined[UNSEEN, UNSEEN] = joined[MIDDLE, MIDDLE] = 1.0
    kinds, covariances = panel.possible_kinds, []
    for kind in kinds:
        whole = joined.copy()
        whole[:MAP, :MAP] = kind.covariance
        whole[:8, :8] += out_of_square(panel.width_mm, panel.height_mm, kind.out_of_square_mm)
        covariances.append(whole)
    return Sources(tuple(covariances), tuple(kind.share for kind in kinds))
