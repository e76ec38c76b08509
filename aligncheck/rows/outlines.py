"""How far a place is from what was traced."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.petals import Rows

Floats = NDArray[np.float64]


def to_outlines_mm(rows: Rows, points_mm: Floats) -> Floats:
    """Distance (n,) from points (n, 2) to the nearest outline of a petal."""
    found = np.full(len(points_mm), np.inf)
    for petal in rows.petals:
        start, way = petal.outline_mm[:-1], np.diff(petal.outline_mm, axis=0)
        arm = points_mm[:, None] - start
        share = np.clip((arm * way).sum(-1) / np.maximum((way**2).sum(-1), 1e-12), 0, 1)
        found = np.minimum(found, np.hypot(*np.moveaxis(arm - share[..., None] * way, -1, 0)).min(1))
    return found
