"""One adjustment of several photos of one panel: each its own map, one common set of numbers.

What differs between photos is their maps (and the noise of their pixels); what they share is the drawing, and the panel
itself. Nothing is assumed to be straight or even: every common number is free. Only how far a hand draws ovals is held
to what its finer waves say, as in one photo. How the panel was made is open: every make gives an answer of its own, and
all photos together tell how likely it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.in_common import Shown
from aligncheck.together.match import Observed, Roundness
from aligncheck.together.solve import Panel, Solution, Trust, own_covariance, photo_of, rest_of, solve

Floats = NDArray[np.float64]

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
    cut : ndarray (photos, 10)
        What of that is how the panel was cut: it moves what is measured, not where the photo shows a corner.
    shares : tuple of float
        How likely each make of panel is.
    map_covariances : ndarray (makes, photos, 10, 10)
        Of the corrections, after the adjustment, for each make about the mean of all.
    side_covariances : ndarray (photos, 10, 10)
        Of the corrections without the cut.
    map_chi2 : ndarray (photos,)
        What is each photo's alone against its own covariance, per degree of freedom: about 1; far above, the map was
        wrong.
    share : float
        Standard deviation of what differs between photos in the marks themselves, as a share of their own one.
    agrees : tuple of ndarray
        For each photo and number observed, whether it agrees with the other photos'.
    """

    numbers: Floats
    maps: Floats
    cut: Floats
    shares: tuple[float, ...]
    map_covariances: Floats
    side_covariances: Floats
    map_chi2: Floats
    share: float
    agrees: tuple[NDArray[np.bool_], ...]


def adjust(
    observed: Sequence[Observed],
    shown: Sequence[Shown],
    own: Sequence[tuple[Floats, Floats]],
    roundness: Roundness,
    size: int,
) -> Adjusted:
    """Solve for all numbers and maps at once, robustly.

    Parameters
    ----------
    observed : sequence of Observed
        Of each photo.
    shown : sequence of Shown
        Each photo's map for every make of panel.
    own : sequence of (ndarray, ndarray)
        Of the panel's own numbers, for every make: precision and usual value.
    roundness : Roundness
        How round the rings are.
    size : int
        How many common numbers there are.
    """
    photos = [photo_of(o, s) for o, s in zip(observed, shown, strict=True)]
    seen = np.zeros(size, bool)
    for o in observed:
        seen[o.index] = True
    panel = Panel(int(seen.sum()), np.cumsum(seen) - 1, roundness, tuple(own))
    trust = Trust([np.ones(len(o.index)) for o in observed], 1.0, np.ones(len(photos)))
    for turn in range(ROUNDS):
        answers = [solve(photos, panel, k, trust) for k in range(len(own))]
        shares = _likely(answers, shown[0])
        x, maps = (np.tensordot(shares, part, 1) for part in ([a.numbers for a in answers], [a.maps for a in answers]))
        chi2 = shares @ np.array([_chi2(a, shown, k) for k, a in enumerate(answers)])
        if turn == ROUNDS - 1:
            break
        rest = [rest_of(photo, x, p, panel) for photo, p in zip(photos, maps, strict=True)]
        share = _share(rest, panel.numbers, len(photos))
        weights = [_mark_weights(o, r / share) for o, r in zip(observed, rest, strict=True)]
        trust = Trust(weights, share, _wider(chi2) if turn == SETTLED else trust.wider)
    numbers = np.full(size, np.nan)
    numbers[seen] = x
    return Adjusted(
        numbers=numbers,
        maps=maps,
        cut=np.tensordot(shares, [a.cut for a in answers], 1),
        shares=tuple(shares.tolist()),
        map_covariances=_laws(shares, [a.maps for a in answers], [a.map_covariances for a in answers]),
        side_covariances=np.tensordot(
            shares, _laws(shares, [a.maps - a.cut for a in answers], [a.side_covariances for a in answers]), 1
        ),
        map_chi2=chi2,
        share=trust.share,
        agrees=tuple(w >= 1.0 for w in trust.weights),
    )


def _likely(answers: Sequence[Solution], shown: Shown) -> Floats:
    """How likely each make is, after everything that was seen."""
    logs = np.array([np.log(make.share) + a.log_likely for make, a in zip(shown.makes, answers, strict=True)])
    likely = np.exp(logs - logs.max())
    return np.asarray(likely / likely.sum(), float)


def _laws(shares: Floats, means: Sequence[Floats], covariances: Sequence[Floats]) -> Floats:
    """Covariances (makes, photos, 10, 10) about the mean of all makes."""
    off = np.array(means) - np.tensordot(shares, means, 1)
    return np.asarray(np.array(covariances) + off[..., :, None] * off[..., None, :], float)


def _chi2(answer: Solution, shown: Sequence[Shown], make: int) -> Floats:
    """What is each photo's alone against what it may be, per degree of freedom (photos,)."""
    pairs = zip(answer.alone, shown, strict=True)
    return np.array([float(e @ np.linalg.solve(own_covariance(s.maps[make]), e)) / 10 for e, s in pairs])


def _wider(chi2: Floats) -> Floats:
    """Factors for the maps' covariances: above 1 for photos that need larger corrections than their peers."""
    if len(chi2) < ENOUGH:
        return np.ones(len(chi2))
    usual = max(float(np.median(chi2)), 1e-6)
    return np.asarray(np.maximum(1.0, chi2 / usual / ODD) ** 2, float)


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
