"""Bayes' rule for the map: a kind of panel, normal in all that is unknown of it, after its rings' ovals are known."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.ovals import Ovals
from aligncheck.panel.kind import Kind

Floats = NDArray[np.float64]
#: Mean and covariance.
Normal = tuple[Floats, Floats]


class Given(NamedTuple):
    """One kind of panel after the ovals: how likely, and the map's parameters p (10,) with their covariances.

    `whole` is of p, `sides` of what the sides were read wrong by, `cut` of how the panel was cut; these two add up.
    """

    log_share: float
    whole: Normal
    sides: Normal
    cut: Normal


def given_ovals(kind: Kind, cut: Floats, ovals: Ovals) -> Given:
    """A kind of panel cut with covariance `cut` (10, 10), after its rings' `ovals`."""
    sides, slopes = kind.covariance, ovals.slopes
    before, unlike = sides + cut, ovals.read_mm + slopes @ kind.mean
    both = slopes @ before @ slopes.T + ovals.spread
    pull, surprise = slopes.T @ np.linalg.inv(both), np.linalg.slogdet(both)[1]
    step, known = pull @ unlike, pull @ slopes
    return Given(
        float(np.log(kind.share) - (unlike @ np.linalg.solve(both, unlike) + surprise) / 2),
        (kind.mean - before @ step, before - before @ known @ before),
        (kind.mean - sides @ step, sides - sides @ known @ sides),
        (-cut @ step, cut - cut @ known @ cut),
    )


def shares_of(given: Sequence[Given]) -> Floats:
    """How likely each is, together 1."""
    likely = np.exp([g.log_share - max(g.log_share for g in given) for g in given])
    return np.asarray(likely / likely.sum(), float)


def mixed(shares: Floats, laws: Sequence[Normal]) -> tuple[Floats, list[Floats]]:
    """The mean of all laws, and their covariances about it."""
    mean = np.asarray(shares @ np.array([own for own, _ in laws]), float)
    return mean, [covariance + np.outer(own - mean, own - mean) for own, covariance in laws]
