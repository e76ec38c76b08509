"""What the straightness of its sides says of a panel: cloth bows the bars that it pulls."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.covariance import BLOCK_FACTOR, LEAST_TURN_MM, scatter_of_blocks
from aligncheck.panel.kind import Kind
from aligncheck.panel.shape import ShapeFit
from aligncheck.panel.side_bow import PULLED, STRAIGHT, UNKNOWN, Bow, bow_precision, usual_bows

Floats = NDArray[np.float64]

#: Variance of a side's second Legendre term over that of its mean, from independent values along it.
TERM_OVER_MEAN = 5.0
#: Logarithm of a ratio that is as good as sure.
MOST_LOG = 50.0


def kind_by_sides(before: Kind, fit: ShapeFit, width_mm: float, height_mm: float, px_per_mm: Floats) -> Kind:
    """The kind of panel, `before` its sides were seen, after them; the fit must have allowed for `UNKNOWN` bows.

    A lens bends all four sides together: what is common of their bows tells nothing, their differences do. By Bayes'
    rule from how likely such bows are where cloth pulls and where it does not (`px_per_mm` (4,) across the sides turns
    what no scatter shows, dents and paint on the arris, into pixels).
    """
    sides = fit.corners_px, width_mm, height_mm
    allowed = bow_precision(*sides, UNKNOWN)
    information = np.linalg.inv(fit.bow_covariance) - allowed
    pull = np.linalg.solve(fit.bow_covariance, fit.bows_px) - allowed @ usual_bows(*sides, UNKNOWN)
    # Waves longer than the pieces make bows that no piece's own scatter accounts for.
    waves = [BLOCK_FACTOR * scatter_of_blocks(r, w) for r, w in zip(fit.residuals, fit.weights, strict=True)]
    noise = np.diag(TERM_OVER_MEAN * np.square(waves) + (LEAST_TURN_MM * px_per_mm) ** 2)
    left = np.eye(4) - information @ np.linalg.inv(information + np.linalg.inv(noise))
    information, pull = left @ information, left @ pull

    def likelihood(bow: Bow) -> float:
        """Logarithm, but for what is the same for all kinds."""
        prior, usual = bow_precision(*sides, bow), usual_bows(*sides, bow)
        both = pull + prior @ usual
        _, size = np.linalg.slogdet(np.eye(4) + np.linalg.solve(prior, information))
        return float(both @ np.linalg.solve(prior + information, both) - usual @ prior @ usual - size) / 2

    times = float(np.exp(min(likelihood(PULLED) - likelihood(STRAIGHT), MOST_LOG)))
    whole = 1 - before.pulled + before.pulled * times
    pulled = before.pulled * times / whole
    return Kind(pulled + (before.deep - before.pulled) / whole, pulled)
