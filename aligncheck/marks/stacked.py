"""Lines that lie upon and beside each other, as boxes across a row: where the picture steps, and what of each shows.

The highest box is on top, and all are blurred as one. So only edges that no higher line covers show, each by how much
its line stands above what goes on under it; two boxes that touch leave no gap, as two that were blurred first would.
"""

import numpy as np
from numpy.typing import NDArray

Singles = NDArray[np.float32]


def _hidden(edges: Singles, heights: Singles) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Which edges (2, L, R) lie under a higher line, and which line (2, L, R) goes on under each, -1 for none."""
    index = np.arange(len(heights))
    own, other = heights[:, None], heights[None]
    # Of lines of one height the first counts as the higher one.
    above = (other > own) | ((other == own) & (index < index[:, None])[..., None])
    at, first, second = edges[:, :, None], edges[0][None, None], edges[1][None, None]
    within = ((first < at) & (at < second)) | ((first <= at) & (at <= second) & above)
    within &= (index != index[:, None])[..., None]
    beneath = np.where(within & ~above, other, np.float32(-1))
    return (within & above).any(2), np.where(beneath.max(2) >= 0, beneath.argmax(2), -1)


def steps_of(edges: Singles, heights: Singles) -> Singles:
    """By how much the picture rises or falls at every edge (2, L, R)."""
    hidden, beneath = _hidden(edges, heights)
    below = np.where(beneath >= 0, np.take_along_axis(heights[None], np.maximum(beneath, 0), 1), 0)
    return np.asarray(np.where(hidden, 0, heights - below), np.float32)


def shown(edges: Singles, ramps: Singles, heights: Singles) -> Singles:
    """What of each line no higher one covers (L, R, M), blurred; `ramps` (2, L, R, M) rise at the edges."""
    hidden, beneath = _hidden(edges, heights)
    signed = np.array([1, -1], np.float32)[:, None, None] * ~hidden
    parts = ramps * signed[..., None]
    bare = parts.sum(0)
    for line in range(len(heights)):
        bare[line] -= (parts * (beneath == line)[..., None]).sum((0, 1))
    return bare
