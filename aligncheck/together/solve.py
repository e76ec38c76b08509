"""All photos of a panel solved at once, for one make of panel: what is common, what is the panel's, what is each map's.

A photo measures m = x - M p + v: the common number x, less what its map's error p does to it, with noise v. Of p a part
is the panel's own, seen from this photo's place (:mod:`aligncheck.panel.in_common`), and the rest this photo's alone.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.in_common import BOWS, CUT, OWN, MapOfMake, Shown
from aligncheck.together.match import Observed, Roundness

Floats = NDArray[np.float64]

#: No map is more exact than this: corners in mm, lens terms (keeps exact maps in tests solvable), and no mark, mm.
LEAST_CORNER_MM, LEAST_LENS, LEAST_MARK_MM = 1e-3, 1e-6, 2e-3


class Photo(NamedTuple):
    """One photo in the common frame: what it measures, W with W' W = inverse of its own covariance, and its map."""

    observed: Observed
    whitener: Floats
    shown: Shown


class Panel(NamedTuple):
    """What is common: how many numbers, in which column of the solution each stands, how round rings are, and for each
    make of panel what its own numbers usually are (precision, mean)."""

    numbers: int
    columns: NDArray[np.int64]
    roundness: Roundness
    makes: tuple[tuple[Floats, Floats], ...]


class Trust(NamedTuple):
    """What robust rounds learn: weights of each photo's numbers, the noise's share, factors on maps' covariances."""

    weights: list[Floats]
    share: float
    wider: Floats


class Solution(NamedTuple):
    """The answer if the panel is of one make.

    `log_likely` tells makes apart; `numbers` are the common ones, `maps` (photos, 10) all of each p, `cut` (photos, 10)
    what of it is how the panel was cut, `alone` what is the photo's alone. `map_covariances` and `side_covariances`
    (photos, 10, 10) are those of p and of p without the cut.
    """

    log_likely: float
    numbers: Floats
    maps: Floats
    cut: Floats
    alone: Floats
    map_covariances: Floats
    side_covariances: Floats


def photo_of(observed: Observed, shown: Shown) -> Photo:
    """Block by block, so that one mark's rest stays its own."""
    lower = np.linalg.cholesky(observed.own + LEAST_MARK_MM**2 * np.eye(len(observed.index)))
    return Photo(observed, np.asarray(np.linalg.inv(lower), float), shown)


def own_covariance(one: MapOfMake) -> Floats:
    """Of what is the photo's alone."""
    least = np.array([LEAST_CORNER_MM] * 8 + [LEAST_LENS] * 2)
    return np.asarray(one.covariance + np.diag(least**2), float)


def solve(photos: list[Photo], panel: Panel, make: int, trust: Trust) -> Solution:
    """Weighted least squares over the common numbers, ten numbers a photo, and the panel's own."""
    maps = [p.shown.maps[make] for p in photos]
    precision, usual = panel.makes[make]
    precisions = [np.linalg.inv(own_covariance(m) * w) for m, w in zip(maps, trust.wider, strict=True)]
    normal, right = _normal(photos, panel, make, trust, precisions)
    covariance = np.asarray(np.linalg.inv(normal), float)
    found = covariance @ right
    size = len(found)
    numbers, own = found[: panel.numbers], found[size - OWN :]
    alone = found[panel.numbers : size - OWN].reshape(len(photos), 10)
    # p of each photo from the solution, and p without the cut.
    to_map = np.zeros((len(photos), 10, size))
    for i, one in enumerate(maps):
        to_map[i, :, panel.numbers + 10 * i : panel.numbers + 10 * i + 10] = np.eye(10)
        to_map[i, :, size - OWN :] = one.by_panel
    to_sides = to_map.copy()
    to_sides[:, :, size - OWN :][:, :, CUT] = 0.0
    p = to_map @ found + np.array([one.mean for one in maps])
    ovals, off, b = found[panel.columns[panel.roundness.which]], own - usual, own[BOWS]
    energy = off @ precision @ off + ovals @ panel.roundness.precision @ ovals
    for i, photo in enumerate(photos):
        energy += float(np.square(rest_of(photo, numbers, p[i], panel) / trust.share) @ trust.weights[i])
        energy += alone[i] @ precisions[i] @ alone[i] + b @ photo.shown.bow_precision @ b - 2 * b @ photo.shown.bow_pull
    sizes = sum(np.linalg.slogdet(m)[1] for m in (*precisions, precision)) - np.linalg.slogdet(normal)[1]
    return Solution(
        float(sizes - energy) / 2,
        numbers,
        p,
        (to_map - to_sides) @ found,
        alone,
        to_map @ covariance @ to_map.transpose(0, 2, 1),
        to_sides @ covariance @ to_sides.transpose(0, 2, 1),
    )


def _normal(
    photos: list[Photo], panel: Panel, make: int, trust: Trust, precisions: list[Floats]
) -> tuple[Floats, Floats]:
    """Normal equations over the common numbers, ten numbers a photo, and the panel's own."""
    size = panel.numbers + 10 * len(photos) + OWN
    own = slice(size - OWN, size)
    bows = slice(own.start + BOWS.start, own.start + BOWS.stop)
    precision, usual = panel.makes[make]
    normal, right = np.zeros((size, size)), np.zeros(size)
    normal[own, own] += precision
    right[own] += precision @ usual
    ovals = panel.columns[panel.roundness.which]
    normal[np.ix_(ovals, ovals)] += panel.roundness.precision
    for i, photo in enumerate(photos):
        o, one = photo.observed, photo.shown.maps[make]
        at = slice(panel.numbers + 10 * i, panel.numbers + 10 * i + 10)
        design = np.zeros((len(o.index), size))
        design[np.arange(len(o.index)), panel.columns[o.index]] = 1.0
        design[:, at], design[:, own] = -o.by_map, -o.by_map @ one.by_panel
        root = np.sqrt(trust.weights[i]) / trust.share
        white = photo.whitener @ design * root[:, None]
        normal += white.T @ white
        right += white.T @ (photo.whitener @ (o.numbers + o.by_map @ one.mean) * root)
        normal[at, at] += precisions[i]
        normal[bows, bows] += photo.shown.bow_precision
        right[bows] += photo.shown.bow_pull
    return normal, right


def rest_of(photo: Photo, numbers: Floats, p: Floats, panel: Panel) -> Floats:
    """What one photo's numbers leave, in standard deviations."""
    o = photo.observed
    return np.asarray(photo.whitener @ (numbers[panel.columns[o.index]] - o.by_map @ p - o.numbers), float)
