"""Where a stroke begins and ends.

Roughly first: which rows are marked, and between which two distances the marked rows are as dense as within the
stroke rather than as rare as on bare panel (a change-point by log likelihood, Page, Biometrika 41 (1954) 100).
Sharply at the end: chalk thins out over its last millimetres, then stops; the last chalk is the end.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Chalk is present or absent over about this length at once: rows nearer than this are not independent.
PATCH_MM = 1.3
#: Share of marked rows on bare panel: specks of dust and chalk.
SPECKS = 0.03
#: A stroke is marked in at least and at most this share of its rows, for the likelihoods to stay finite.
SHARE = (0.3, 0.85)
#: A row with this part of a well drawn one's chalk is plainly the stroke's; less counts less.
PLAIN = 0.4
#: A gap once begun goes on: what its bare rows speak against the stroke falls by e over this length, mm, to this part.
GAP_MM, GAP_REST = 3.0, 0.2
#: The layout's strokes begin and end alike; an own end may lie this many standard deviations off at no further charge.
OWN_END = 5.0
#: Strokes end where the hand stops, some millimetres about the usual distance.
LEAST_SD_MM = 2.0


class Extent(NamedTuple):
    """Distances along each path, (S,), where the stroke begins and ends, and the log likelihood of there being one."""

    inner_mm: Floats
    outer_mm: Floats
    evidence: Floats


def marked_threshold(noise: float) -> float:
    """Amplitude above which a row is marked, for bare rows that scatter by `noise` of a well drawn stroke."""
    return float(np.clip(3.5 * noise, 0.06, 0.4))


def bare_scatter(along_mm: Floats, amplitude: Floats, known: Bools, extent: Extent, usual: float) -> float:
    """Scatter of the amplitude where the strokes have ended; `usual` where too few rows show that."""
    bare = amplitude[known & (along_mm > extent.outer_mm[:, None] + 6.0)]
    return 1.4826 * median(np.abs(bare)) if len(bare) > 30 else usual


def rough_extent(
    along_mm: Floats, amplitude: Floats, known: Bools, threshold: float, first_mm: float, reach_mm: float
) -> Extent:
    """Rough ends of each stroke from the amplitudes (S, R) of its `known` rows, from `first_mm` outward.

    Strokes of one layout are first taken by themselves, then each again with the others' median as what is usual. Where
    other lines hide all of them, they end at `reach_mm`, about where the layout ends.
    """
    step = float(along_mm[1] - along_mm[0])
    marked = (amplitude > threshold) & known
    gain = _log_ratio(marked, known, step)
    # Another line that runs on where a stroke ends is fainter than the stroke.
    plain = np.clip((amplitude - threshold) / max(PLAIN - threshold, 1e-6), 0.0, 1.0)
    gain = np.where(marked, gain * plain, gain)
    gain[:, along_mm < first_mm] = 0
    may_end = _on_chalk(marked, known)
    usual: list[tuple[float, float] | None] = [None, None]
    inner = outer = evidence = np.zeros(len(amplitude))
    for _ in range(2):
        inner, outer, evidence = _best_span(along_mm, gain, usual, may_end)
        seen = evidence > 3
        if not seen.any():
            usual = [(first_mm, LEAST_SD_MM), (reach_mm, LEAST_SD_MM)]
            continue
        usual = [_usual(x[seen]) for x in (inner, outer)]
    return Extent(inner, outer, evidence)


def _log_ratio(marked: Bools, known: Bools, step: float) -> Floats:
    """Log likelihood (S, R) that a row belongs to a stroke less that it is bare, per independent patch."""
    # The share of marked rows in the stroke: in the best drawn half of its rows, at least.
    count = np.maximum(known.sum(1), 1)
    share = np.clip(1.4 * marked.sum(1) / count, *SHARE)[:, None]
    against = np.log((1 - share) / (1 - SPECKS)) * _in_gap(marked, step)
    ratio = np.where(marked, np.log(share / SPECKS), against)
    return np.where(known, ratio, 0.0) * min(1.0, step / PATCH_MM)


def _in_gap(marked: Bools, step: float) -> Floats:
    """How much each bare row still counts (S, R), after how much of its gap on either side."""
    at = np.arange(marked.shape[1])
    before = np.maximum.accumulate(np.where(marked, at, -len(at)), axis=1)
    after = np.minimum.accumulate(np.where(marked, at, 2 * len(at))[:, ::-1], axis=1)[:, ::-1]
    depth = np.maximum(np.minimum(at - before, after - at) - 1, 0) * step
    return GAP_REST + (1 - GAP_REST) * np.exp(-depth / GAP_MM)


def _on_chalk(marked: Bools, known: Bools) -> Bools:
    """Rows (S, R) at which a stroke may end: marked ones, and what hides the stroke right after them.

    Without this a stroke that stops early would be carried on over bare panel to where the others end.
    """
    last = np.maximum.accumulate(np.where(known, np.arange(marked.shape[1]), 0), axis=1)
    return np.asarray(np.take_along_axis(marked, last, axis=1), bool)


def _usual(ends_mm: Floats) -> tuple[float, float]:
    """Median of the layout's ends and how far a stroke's own end may well be from it."""
    middle = median(ends_mm)
    spread = 1.4826 * median(np.abs(ends_mm - middle))
    return middle, max(LEAST_SD_MM, 1.5 * spread)


def _best_span(
    along_mm: Floats, gain: Floats, usual: list[tuple[float, float] | None], may_end: Bools
) -> tuple[Floats, Floats, Floats]:
    """The span with the largest sum of `gain` less what unusual ends are charged, of those that `may_end` there."""
    charge = [_charge(along_mm, u) for u in usual]
    total = np.cumsum(gain, axis=1)
    before = total - gain
    # Best beginning for every end: the running least of the sum so far plus the beginning's charge.
    cost = before + charge[0]
    least = np.minimum.accumulate(cost, axis=1)
    score = total - charge[1] - least
    # Where nothing is marked at all, other lines hide the stroke: it ends where the others do.
    score = np.where(may_end | ~may_end.any(1, keepdims=True), score, -np.inf)
    end = score.argmax(1)
    rows = np.arange(len(gain))
    start = np.array([int(cost[k, : end[k] + 1].argmin()) for k in rows])
    half = 0.5 * (along_mm[1] - along_mm[0])
    return along_mm[start] - half, along_mm[end] + half, score[rows, end]


def _charge(along_mm: Floats, usual: tuple[float, float] | None) -> Floats:
    """Minus log prior (R,) of an end at each row, but for a constant."""
    if usual is None:
        return np.zeros(len(along_mm))
    middle, sd = usual
    return np.asarray(0.5 * np.minimum(np.abs(along_mm - middle) / sd, OWN_END) ** 2, float)
