"""The ways a panel may be made, each with how likely the sides leave it and with the map that it would mean.

Cloth bows the bars that it pulls, wraps softer edges and hides what is out of square. A lens bends all four sides
together: what is common of their bows tells little, their differences do. For each make the bows, the edges' radius
and their spreads are what such panels have; the one fit of the sides, conditioned on them, gives the rest (all normal
laws, so that Bayes' rule is linear algebra).
"""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.covariance import LEAST_TURN_MM, Uneven, beyond_fit, corner_directions, errors_to_p
from aligncheck.panel.edges import Edges
from aligncheck.panel.kind import Kind, Make
from aligncheck.panel.panel import Panel
from aligncheck.panel.rounded import Rounding
from aligncheck.panel.shape import ShapeFit
from aligncheck.panel.side_bow import Bow, bow_precision, usual_bows

Floats = NDArray[np.float64]

#: Variance of a side's second Legendre term over that of its mean, from independent values along it.
TERM_OVER_MEAN = 5.0


class Seen(NamedTuple):
    """The fitted sides and all that a covariance of their map is made of."""

    fit: ShapeFit
    allowed: Bow
    sides: list[Edges]
    uneven: Uneven
    has_step: NDArray[np.bool_]
    panel: Panel
    edge: Rounding
    px_per_mm: Floats
    size_px: float


def told_apart(seen: Seen, makes: list[tuple[Make, Rounding]]) -> tuple[Kind, ...]:
    """The `makes`, each with how its edges would be rounded, after the sides were seen."""
    bows = bows_of_sides(seen)
    logs = [np.log(make.share) + bows.likelihood(make.bow) for make, _ in makes]
    likely = np.exp(np.array(logs) - max(logs))
    shares = likely / likely.sum()
    # How square they are cut is no matter of the sides: makes that differ in that alone share their map.
    maps = {(make.deep, make.bow): edge for make, edge in makes}
    known = {
        key: one.after(*bows.after(key[1])) for key, one in zip(maps, maps_given_bows(seen, maps.values()), strict=True)
    }
    return tuple(
        Kind(float(share), make.out_of_square_mm, *known[make.deep, make.bow])
        for share, (make, _) in zip(shares, makes, strict=True)
    )


class MapGivenBows(NamedTuple):
    """The map's parameters p (10,) where the bows (4,) of the sides are known, px: `mean` without any, `by_bows`
    (10, 4) how they change it, `covariance` (10, 10) then."""

    mean: Floats
    by_bows: Floats
    covariance: Floats

    def after(self, bows_px: Floats, spread: Floats) -> tuple[Floats, Floats]:
        """Mean and covariance of p where the bows are known as well as `spread` (4, 4)."""
        return self.mean + self.by_bows @ bows_px, self.covariance + self.by_bows @ spread @ self.by_bows.T


def maps_given_bows(seen: Seen, edges: Iterable[Rounding]) -> list[MapGivenBows]:
    """The map for each way that the edges may be rounded."""
    to_p, with_bows = errors_to_p(seen.fit, seen.panel), seen.fit.with_bows
    by_bow = with_bows[:13, 13:] @ np.linalg.inv(with_bows[13:, 13:])
    # Had other bows been looked for, the corners would have been found elsewhere.
    by_bows = -to_p @ by_bow
    fitted = to_p @ (seen.fit.covariance - by_bow @ with_bows[13:, :13]) @ to_p.T
    maps = []
    for edge in edges:
        mean, covariance = -by_bows @ seen.fit.bows_px, fitted.copy()
        shifts = zip(seen.sides, seen.edge.shift_mm - edge.shift_mm, strict=True)
        mean[:8] += [0.0 if side.banded else further_in for side, further_in in shifts] @ corner_directions()[0]
        covariance[:8, :8] += beyond_fit(seen.sides, seen.uneven, seen.has_step, edge, seen.px_per_mm, seen.size_px)
        maps.append(MapGivenBows(mean, by_bows, covariance))
    return maps


class Bows(NamedTuple):
    """What the sides alone say of their bows, about nothing: precision times them is `pull`; and the sides' places."""

    information: Floats
    pull: Floats
    sides: tuple[Floats, float, float]

    def after(self, bow: Bow) -> tuple[Floats, Floats]:
        """The bows (4,) of sides that usually bow like this, and their covariance (4, 4)."""
        prior = bow_precision(*self.sides, bow)
        spread = np.asarray(np.linalg.inv(prior + self.information), float)
        return spread @ (self.pull + prior @ usual_bows(*self.sides, bow)), spread

    def likelihood(self, bow: Bow) -> float:
        """Logarithm of how likely such sides are seen, but for what is the same for all."""
        prior, usual = bow_precision(*self.sides, bow), usual_bows(*self.sides, bow)
        both = self.pull + prior @ usual
        _, size = np.linalg.slogdet(np.eye(4) + np.linalg.solve(prior, self.information))
        return float(both @ np.linalg.solve(prior + self.information, both) - usual @ prior @ usual - size) / 2


def bows_of_sides(seen: Seen) -> Bows:
    """The fit's bows without what it allowed for, and no surer than long waves of the sides leave them."""
    fit, panel = seen.fit, seen.panel
    sides = fit.corners_px, panel.width_mm, panel.height_mm
    allowed, found = bow_precision(*sides, seen.allowed), np.linalg.inv(fit.with_bows[13:, 13:])
    information = found - allowed
    pull = found @ fit.bows_px - allowed @ usual_bows(*sides, seen.allowed)
    # Waves longer than the pieces, dents and paint on the arris make bows that no piece's own scatter accounts for.
    noise = np.diag(TERM_OVER_MEAN * np.square(seen.uneven.waves_px) + (LEAST_TURN_MM * seen.px_per_mm) ** 2)
    left = np.eye(4) - information @ np.linalg.inv(information + np.linalg.inv(noise))
    return Bows(left @ information, left @ pull, sides)
