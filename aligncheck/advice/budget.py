"""Where the uncertainty of a typical move comes from: the panel's map, or the strokes as this photo shows them."""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from aligncheck.drift import Drift, measure_drift
from aligncheck.geometry.small import median
from aligncheck.marks.settle import settle

#: 95 % half-widths, mm, that no better photo falls below: what grainy chalk leaves of a move, and what rounded edges
#: leave of a map.
GRAIN_MM, EDGES_MM = 0.08, 0.03


class Budget(NamedTuple):
    """The typical 95 % half-width of a move (of a ring's drift where there are no spokes), mm, and its two parts."""

    total_mm: float
    map_mm: float
    own_mm: float

    def if_better(self, map_times: float = 1.0, own_times: float = 1.0) -> float:
        """The half-width with map and strokes seen so many times as well, never below what chalk and edges allow."""
        of_map = max(self.map_mm / map_times, min(self.map_mm, EDGES_MM))
        own = max(self.own_mm / own_times, min(self.own_mm, GRAIN_MM))
        return float(np.hypot(of_map, own))


def budget_of(drift: Drift) -> Budget | None:
    """The budget of a finished drift; None where nothing was measured."""
    total = typical_u95_mm(drift)
    if total is None:
        return None
    marks = drift.marks
    # What stays if the sides were seen perfectly: the strokes, and how square such a panel is by its own rings.
    exact = replace(marks.panel, covariance=np.zeros_like(marks.panel.covariance), kinds=(), settled=False)
    own = typical_u95_mm(measure_drift(settle(replace(marks, panel=exact)), drift.layout)) or 0.0
    return Budget(total, float(np.sqrt(max(total**2 - own**2, 0.0))), min(own, total))


def typical_u95_mm(drift: Drift) -> float | None:
    """The median 95 % half-width of the moves, or of the rings' drifts where there are no spokes."""
    u95 = [s.move_u95_mm for s in drift.spokes] or [r.drift_u95_mm for r in drift.rings]
    return median(u95) if u95 else None
