"""Where other strokes cross a path: rows there measure both strokes at once and are left out."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.marks import Line

Floats = NDArray[np.float64]

#: A stroke may run on past its measured ends by this much without being seen.
PAST_END_MM = 1.5


def near_lines(points_mm: Floats, lines: Iterable[Line], clear_mm: float) -> NDArray[np.bool_]:
    """Whether each point (n, 2) lies within `clear_mm` of one of the straight strokes."""
    near = np.zeros(len(points_mm), bool)
    for line in lines:
        span = line.outer_mm - line.inner_mm
        length = max(float(np.hypot(*span)), 1e-6)
        away = points_mm - line.inner_mm
        along = away @ span / length
        beside = np.abs(away @ line.across)
        near |= (beside < clear_mm) & (along > -PAST_END_MM) & (along < length + PAST_END_MM)
    return near
