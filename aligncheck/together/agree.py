"""Which photos show the same panel, and how each is turned against the first."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.together.match import Observed, common_frame, observe
from aligncheck.together.seen import Seen

Floats = NDArray[np.float64]

#: Mean square of the differences between two photos' marks in units of what their maps and marks allow, each square
#: cut at `CUT`: about 1 for one panel, near `CUT` for two. Covariances are not known better than to a factor of two.
SAME_PANEL, CUT = 4.0, 25.0
#: Between that and this it is the same panel, measured with a wrong side: two panels drawn by hand differ in nearly
#: every mark, a wrong side leaves many alike.
SAME_MARKS = 15.0
#: A second turn that fits this nearly as well as the best leaves open which side is up.
NEARLY = 2.0
#: At least this share of the marks must be found in both photos.
COMMON = 0.6


@dataclass(frozen=True)
class Turned:
    """How one photo lies against another: quarter turns clockwise, and whether the marks decide it."""

    quarters: int
    misfit: float
    decided: bool


def alike(first: Seen, other: Seen) -> bool:
    """Whether the marks are the same, if not measured alike."""
    return min(_misfit(first, other.turned(k)) for k in range(4)) < SAME_MARKS


def compare(first: Seen, other: Seen) -> Turned | None:
    """The quarter turn of `other` that makes its marks those of `first`; None where none does."""
    misfits = {k: _misfit(first, other.turned(k)) for k in range(4)}
    fitting = {k: m for k, m in misfits.items() if m < SAME_PANEL}
    if not fitting:
        return None
    best = min(fitting, key=lambda k: fitting[k])
    close = [k for k, m in misfits.items() if k != best and m < max(NEARLY * misfits[best], NEARLY)]
    if not close:
        return Turned(best, misfits[best], True)
    # Undecided: as the photos lie, if that fits; people seldom turn the panel between two photos.
    chosen = min([best, *close], key=lambda k: (k != 0, misfits[k]))
    return Turned(chosen, misfits[chosen], False)


def _misfit(first: Seen, other: Seen) -> float:
    """Mean cut square of the differences; `CUT` where too little is common or the sizes differ."""
    if not np.allclose(first.size_mm, other.size_mm, rtol=0.01):
        return CUT
    frame = common_frame([first])
    a, b = observe(frame, first), observe(frame, other)
    common = np.intersect1d(a.index, b.index)
    marks = max(len(np.unique(a.mark)), len(other.spokes) + len(other.rings))
    if not len(common) or len(np.unique(b.mark)) < COMMON * marks:
        return CUT
    a, b = _chosen(a, common), _chosen(b, common)
    covariance = a.own + b.own + 1e-5 * np.eye(len(common))
    covariance += a.by_map @ first.map_covariance @ a.by_map.T + b.by_map @ other.map_covariance @ b.by_map.T
    white = np.linalg.solve(np.linalg.cholesky(covariance), a.numbers - b.numbers)
    return float(np.minimum(white**2, CUT).mean())


def _chosen(observed: Observed, index: NDArray[np.int64]) -> Observed:
    """The observed numbers of `index`, in that order."""
    order = np.array([int(np.flatnonzero(observed.index == i)[0]) for i in index])
    own = observed.own[np.ix_(order, order)]
    return Observed(observed.index[order], observed.mark[order], observed.numbers[order], observed.by_map[order], own)


def largest_group(photos: Sequence[Seen]) -> tuple[list[int], dict[int, Turned]]:
    """Indices of the largest set of photos that agree with one of them, and how each is turned against that one.

    Among equals the earliest photo leads, so that the answer stands in its frame.
    """
    best: tuple[list[int], dict[int, Turned]] = ([], {})
    for lead in range(len(photos)):
        turns = {lead: Turned(0, 0.0, True)}
        for other in range(len(photos)):
            found = compare(photos[lead], photos[other]) if other != lead else None
            if found is not None:
                turns[other] = found
        if len(turns) > len(best[0]):
            best = (sorted(turns), turns)
        if len(turns) == len(photos):
            break
    return best
