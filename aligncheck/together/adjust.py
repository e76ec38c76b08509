"""One adjustment of several photos of one panel: each its own map, one common set of numbers.

A photo measures m = x - M p + v: the common number x, less what its map's error p does to it, with noise v. What
differs between photos is their maps (and the noise of their pixels); what they share is the drawing. Nothing is assumed
to be round, straight or even: every common number is free.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.together.match import Observed

Floats = NDArray[np.float64]

#: No map is more exact than this: corners in mm, lens terms (keeps exact maps in tests solvable), and no mark, mm.
LEAST_CORNER_MM, LEAST_LENS, LEAST_MARK_MM = 1e-3, 1e-6, 2e-3
#: The marks' own covariance holds the chalk's grain, which all photos share. How much differs between photos is learned
#: within these bounds, as a share of the standard deviation.
LEAST_SHARE, MOST_SHARE = 0.1, 3.0
#: A photo whose map needs more than so many times its peers' usual correction (in squares, against its own claim)
#: counts less: a side taken at the wrong edge is off by far more than a normal law allows. With ten numbers a map,
#: chance seldom makes it three times. It counts less by the square of that, since the common answer, drawn towards it,
#: shows only part of how odd it is. Three photos tell which one is odd; of two neither.
ODD, ENOUGH = 3.0, 3
#: Median of the square of a normal number with variance one.
MEDIAN_SQUARE = 0.4549
#: A mark that one photo sees further off than this many standard deviations counts less there (Huber).
HUBER = 2.5
ROUNDS = 6
#: Corrections are compared once, when the marks have settled: again and again, the best photo would take all.
SETTLED = 2


@dataclass(frozen=True)
class Adjusted:
    """The common numbers and each photo's map correction.

    Attributes
    ----------
    numbers : ndarray (n,)
        NaN where no photo measures one.
    maps : ndarray (photos, 10)
        What each photo's map is to be corrected by.
    map_covariances : ndarray (photos, 10, 10)
        Of the corrections, after the adjustment.
    map_chi2 : ndarray (photos,)
        Each correction against its map's own covariance, per degree of freedom: about 1; far above, the map was wrong.
    share : float
        Standard deviation of what differs between photos in the marks themselves, as a share of their own one.
    agrees : tuple of ndarray
        For each photo and number observed, whether it agrees with the other photos'.
    """

    numbers: Floats
    maps: Floats
    map_covariances: Floats
    map_chi2: Floats
    share: float
    agrees: tuple[NDArray[np.bool_], ...]


def adjust(observed: Sequence[Observed], map_covariances: Sequence[Floats], size: int) -> Adjusted:
    """Solve for all numbers and maps at once, robustly.

    Parameters
    ----------
    observed : sequence of Observed
        Of each photo.
    map_covariances : sequence of ndarray (10, 10)
        Of each photo's map before the adjustment.
    size : int
        How many common numbers there are.
    """
    priors = [_floor(c) for c in map_covariances]
    whiteners = [_whitener(o) for o in observed]
    seen = np.zeros(size, bool)
    for o in observed:
        seen[o.index] = True
    columns = np.cumsum(seen) - 1
    count = int(seen.sum())
    weights = [np.ones(len(o.index)) for o in observed]
    share, wider = 1.0, np.ones(len(observed))
    for turn in range(ROUNDS):
        used = [c * w for c, w in zip(priors, wider, strict=True)]
        normal, right = _normal(observed, whiteners, weights, share, used, columns, count)
        inverse = np.linalg.inv(normal)
        solution = inverse @ right
        x, maps = solution[:count], solution[count:].reshape(len(observed), 10)
        rest = [
            w @ (x[columns[o.index]] - o.by_map @ p - o.numbers)
            for o, w, p in zip(observed, whiteners, maps, strict=True)
        ]
        share = _share(rest, count, len(observed))
        weights = [_mark_weights(o, r / share) for o, r in zip(observed, rest, strict=True)]
        chi2 = np.array([float(p @ np.linalg.solve(c, p)) / 10 for p, c in zip(maps, priors, strict=True)])
        if turn == SETTLED:
            wider = _wider(chi2)
    numbers = np.full(size, np.nan)
    numbers[seen] = x
    blocks = [slice(count + 10 * i, count + 10 * i + 10) for i in range(len(observed))]
    return Adjusted(
        numbers=numbers,
        maps=maps,
        map_covariances=np.array([inverse[b, b] for b in blocks]),
        map_chi2=chi2,
        share=share,
        agrees=tuple(w >= 1.0 for w in weights),
    )


def _wider(chi2: Floats) -> Floats:
    """Factors for the maps' covariances: above 1 for photos that need larger corrections than their peers."""
    if len(chi2) < ENOUGH:
        return np.ones(len(chi2))
    usual = max(float(np.median(chi2)), 1e-6)
    return np.asarray(np.maximum(1.0, chi2 / usual / ODD) ** 2, float)


def _floor(covariance: Floats) -> Floats:
    least = np.array([LEAST_CORNER_MM] * 8 + [LEAST_LENS] * 2)
    return np.asarray(covariance + np.diag(least**2), float)


def _whitener(observed: Observed) -> Floats:
    """W with W' W = inverse of the own covariance; block by block, so that one mark's rest stays its own."""
    lower = np.linalg.cholesky(observed.own + LEAST_MARK_MM**2 * np.eye(len(observed.index)))
    return np.asarray(np.linalg.inv(lower), float)


def _normal(
    observed: Sequence[Observed],
    whiteners: Sequence[Floats],
    weights: Sequence[Floats],
    share: float,
    priors: Sequence[Floats],
    columns: NDArray[np.int64],
    count: int,
) -> tuple[Floats, Floats]:
    """Normal equations over the common numbers, then ten map numbers a photo."""
    size = count + 10 * len(observed)
    normal, right = np.zeros((size, size)), np.zeros(size)
    for i, (o, w, weight, prior) in enumerate(zip(observed, whiteners, weights, priors, strict=True)):
        design = np.zeros((len(o.index), size))
        design[np.arange(len(o.index)), columns[o.index]] = 1.0
        at = slice(count + 10 * i, count + 10 * i + 10)
        design[:, at] = -o.by_map
        white = w @ design * (np.sqrt(weight) / share)[:, None]
        normal += white.T @ white
        right += white.T @ (w @ o.numbers * np.sqrt(weight) / share)
        normal[at, at] += np.linalg.inv(prior)
    return normal, right


def _share(rest: Sequence[Floats], count: int, photos: int) -> float:
    """How large the whitened rests are, robustly; fitted numbers take freedom from them."""
    squares = np.concatenate(rest) ** 2
    freedom = max(len(squares) - count - 10 * (photos - 1), 0.1 * len(squares))
    variance = float(np.median(squares)) / MEDIAN_SQUARE * len(squares) / freedom
    return float(np.clip(np.sqrt(variance), LEAST_SHARE, MOST_SHARE))


def _mark_weights(observed: Observed, rest: Floats) -> Floats:
    """Huber's weight of each mark from the rest of all its numbers together."""
    weights = np.ones(len(rest))
    for mark in np.unique(observed.mark):
        mine = observed.mark == mark
        distance = float(np.sqrt((rest[mine] ** 2).mean()))
        weights[mine] = min(1.0, (HUBER / max(distance, 1e-9)) ** 2)
    return weights
