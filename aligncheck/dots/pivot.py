"""The point that the dots turn about, found from the dots themselves: the mark at the centre is often painted over."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.support import OFF_SIZE
from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: The given centre may be this far off, mm: a spoke or a dot was taken for the mark.
REACH_MM = 8.0
#: So many of the clearest circles tell.
MOST_CIRCLES = 600
#: Circles that differ by so many times the hand's spread of size and colour are not like; so many likes are looked at.
SAME, LIKE = 2.5, 8
#: Side of the cells that votes fall in, mm, and their blur: each vote is wrong by a hand's spread.
CELL_MM, BLUR_MM = 0.25, 0.35
#: The fullest spot stands if it holds so many times the votes of chance, so many of them, and as many as this share of
#: the circles: of dots that turn about a point nearly every one votes for it.
OVER_CHANCE, LEAST_VOTES, LEAST_SHARE = 3.0, 6.0, 0.05
#: Rounds of the robust mean, and the spread of one vote that is right, mm.
ROUNDS, VOTE_SD_MM = 8, 0.45


@dataclass(frozen=True)
class Pivot:
    """The point (2,), its covariance (2, 2) in mm^2, and the votes for it over those that chance would give."""

    xy_mm: Floats
    covariance: Floats
    over_chance: float


def find_pivot(
    xy: Floats, radius_mm: Floats, colour: Floats, worth: Floats, order: int, start: Floats, same_colour: float
) -> Pivot | None:
    """Where the circles turn into one another; None where they do not tell.

    Every two like circles that may be `k` segments apart vote for the one point that such a turn leaves in place.

    Parameters
    ----------
    xy : ndarray (n, 2)
        In the panel frame, mm.
    colour : ndarray (n, 3)
    worth : ndarray (n,)
        How clear each circle is.
    start : ndarray (2,)
        Near it the point is looked for.
    same_colour : float
        Distance of colours of one paint (standard deviation).
    """
    if order < 2 or len(xy) < 2 * order:
        return None
    best = np.argsort(-worth, kind="stable")[:MOST_CIRCLES]
    spread = np.column_stack([np.log(radius_mm[best]) / (2 * OFF_SIZE), colour[best] / (2 * same_colour)])
    votes, weights = _votes(xy[best] - start, spread, order)
    if not len(votes):
        return None
    size = int(np.ceil(2 * REACH_MM / CELL_MM)) + 1
    cells = np.clip(np.round((votes + REACH_MM) / CELL_MM).astype(int), 0, size - 1)
    table = np.zeros((size, size))
    np.add.at(table, (cells[:, 1], cells[:, 0]), weights)
    # Each vote's own weight stands at its peak, so that the height reads as a number of votes.
    height = cv2.GaussianBlur(table, (0, 0), BLUR_MM / CELL_MM) * (2 * np.pi * (BLUR_MM / CELL_MM) ** 2)
    row, column = divmod(int(height.argmax()), size)
    most = float(height[row, column])
    over = most / max(float(np.median(height)), 0.5)
    if over < OVER_CHANCE or most < max(LEAST_VOTES, LEAST_SHARE * len(best)):
        return None
    return _mean(votes, weights, np.array([column, row]) * CELL_MM - REACH_MM, start, over)


def _votes(xy: Floats, spread: Floats, order: int) -> tuple[Floats, Floats]:
    """Points (m, 2) that like circles would turn about, within reach, and their weights (m,)."""
    points, weights = [], []
    kind = spread / SAME
    for k in range(1, order // 2 + 1):
        angle = 2 * np.pi * k / order
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        carried = 2 * np.sin(angle / 2)
        # A centre off by e carries a circle `carried` times e away from its like.
        gate = carried * REACH_MM
        i, j, unlike = Near(np.column_stack([xy / gate, kind])).pairs(np.column_stack([xy @ turn.T / gate, kind]), 1.0)
        i, j, number = _likest(i, j, unlike, len(xy))
        solve = np.linalg.inv(np.eye(2) - turn)
        vote = (xy[j] - xy[i] @ turn.T) @ solve.T
        # A turn by half a circle tells twice as well as one by 29 degrees; of several likes one is right.
        inside = np.abs(vote).max(1) < REACH_MM
        points.append(vote[inside])
        weights.append((np.minimum(carried, 1.0) ** 2 / number)[inside])
    return np.concatenate(points), np.concatenate(weights)


def _likest(i: Integers, j: Integers, unlike: Floats, count: int) -> tuple[Integers, Integers, Integers]:
    """Of the pairs (m,) of circles `i` and `j` the likest few of every `i`, and how many those are."""
    order = np.lexsort((unlike, i))
    each = np.bincount(i, minlength=count)
    rank = np.arange(len(i)) - np.repeat(np.cumsum(each) - each, each)
    kept = order[rank < LIKE]
    return i[kept], j[kept], np.minimum(each, LIKE)[i[kept]]


def _mean(votes: Floats, weights: Floats, point: Floats, start: Floats, over: float) -> Pivot:
    """Robust mean of the votes about `point`."""
    for _ in range(ROUNDS):
        off = votes - point
        square = (off**2).sum(1) / VOTE_SD_MM**2
        told = weights / (1 + square) ** 2
        point = point + told @ off / told.sum()
    off = votes - point
    near = (off**2).sum(1) < (3 * VOTE_SD_MM) ** 2
    total = float(weights[near].sum())
    variance = float((weights[near] * (off[near] ** 2).sum(1)).sum()) / (2 * total)
    # Each circle votes with several others: there are no more independent votes than circles, about the square root.
    covariance = variance / max(np.sqrt(total), 1.0) * np.eye(2)
    return Pivot(point + start, covariance, over)
