"""How much each circle is borne out by its like in the other segments, and which of two that overlap to believe."""

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from aligncheck.dots.rims import Rims

Floats = NDArray[np.float64]

#: A hand sets a dot this far off its place, mm (standard deviation), and differs in size by so much (natural log).
OFF_PLACE_MM, OFF_SIZE = 0.6, 0.10
#: Farther than this many of them is not its like.
GATE = 3.0
#: Two dots may overlap by this share of their radii: domes that were set wet, and what both are wrong by.
OVERLAP = 0.82


def turned(xy: Floats, order: int) -> Floats:
    """Points (n, 2) about the origin, turned to each segment: (order - 1, n, 2), without the first."""
    angle = np.arange(1, order) * (2 * np.pi / order)
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.stack([cos * xy[:, 0] - sin * xy[:, 1], sin * xy[:, 0] + cos * xy[:, 1]], axis=-1)


def likeness(distance_mm: Floats, log_ratio: Floats, colour_distance: Floats, same_colour: float) -> Floats:
    """1 for a twin, 0 for another kind: a Gaussian in place, size and colour, cut off."""
    square = (distance_mm / OFF_PLACE_MM) ** 2 + (log_ratio / OFF_SIZE) ** 2 + (colour_distance / same_colour) ** 2
    return np.where(square < GATE**2 * 1.5, np.exp(-0.15 * square), 0.0)


def support(xy: Floats, radius_mm: Floats, colour: Floats, coverage: Floats, order: int, same_colour: float) -> Floats:
    """Mean over the other segments (n,) of the best like circle there.

    Parameters
    ----------
    xy : ndarray (n, 2)
        From the centre, mm.
    colour : ndarray (n, 3)
    same_colour : float
        Distance of colours of one paint (standard deviation).
    """
    if order < 2 or len(xy) < 2:
        return np.zeros(len(xy))
    # Size counts in the tree, so that the nearest few are of one size.
    features = np.column_stack([xy, OFF_PLACE_MM / OFF_SIZE * np.log(radius_mm), colour * (OFF_PLACE_MM / same_colour)])
    tree = cKDTree(features)
    places = turned(xy, order)
    rest = np.broadcast_to(features[:, 2:], (order - 1, len(xy), features.shape[1] - 2))
    ask = np.concatenate([places, rest], axis=-1).reshape(-1, features.shape[1])
    distance, index = tree.query(ask, k=3, distance_upper_bound=GATE * OFF_PLACE_MM * 1.2)
    seen = np.isfinite(distance)
    index = np.where(seen, index, 0)
    value = np.where(seen, np.exp(-0.15 * (distance / OFF_PLACE_MM) ** 2) * coverage[index], 0.0)
    return np.asarray(value.max(-1).reshape(order - 1, -1).mean(0), float)


def believed(rims: Rims, score: Floats) -> NDArray[np.int64]:
    """Indices of the circles that stand: best first, each removes those that it overlaps."""
    order = np.argsort(-score, kind="stable")
    xy = np.column_stack([rims.x, rims.y])
    taken = np.ones(len(rims), bool)
    tree = cKDTree(xy)
    near = tree.query_ball_point(xy[order], OVERLAP * (rims.r[order] + rims.r.max(initial=0)), return_sorted=False)
    kept = []
    for i, others in zip(order, near, strict=True):
        if not taken[i]:
            continue
        kept.append(i)
        j = np.asarray(others)
        j = j[taken[j]]
        gap = np.hypot(*(xy[j] - xy[i]).T) - OVERLAP * (rims.r[j] + rims.r[i])
        taken[j[gap < 0]] = False
    return np.asarray(kept, np.int64)
