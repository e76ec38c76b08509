"""What is seen through glass is no piece: points of the panel's own marks, which lie still on its face."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.plan import seen_at
from aligncheck.marks import Marks
from aligncheck.placement.match import Matches
from aligncheck.placement.sides import Side
from aligncheck.placement.turns import Floats, Motion

#: A point lies still on the face where both photos put it within this, mm; nearer than that to a mark it is the mark's.
STILL_MM, NEAR_MM = 0.4, 1.5
#: So many times as many still points on marks as beside them: the piece is clear.
CLEAR = 2.0


def of_the_panel(first: Side, other: Side, matches: Matches, base: Motion, height_mm: float) -> NDArray[np.bool_]:
    """Which matched points (n,) are marks of the panel that the piece lets through.

    Parameters
    ----------
    matches : Matches
        Places on the earlier plan at `height_mm`; what they lack after `base` in the common frame.
    base : Motion
        To the other photo's arrangement.
    """
    before = seen_at(matches.at_mm, first.camera_mm, height_mm)
    after = seen_at(base(matches.at_mm) + matches.apart_mm, other.camera_mm, height_mm)
    still = np.hypot(*(after - before).T) < STILL_MM
    near = still & (_from_marks(before, first.arranged.drift.marks) < NEAR_MM)
    # Marks cover about half of the middle. Where nearly all that lies still is on them, the rest is the panel's, too.
    if near.sum() > CLEAR * max((still & ~near).sum(), 1):
        return np.ones(len(near), bool)
    return np.asarray(near, bool)


def _from_marks(points: Floats, marks: Marks) -> Floats:
    """Distance (n,) of points (n, 2) from the nearest spoke, drawn on to the centre, or ring."""
    nearest = np.full(len(points), np.inf)
    for spoke in marks.spokes:
        way = spoke.outer_mm - marks.centre.xy_mm
        along = np.clip(((points - marks.centre.xy_mm) @ way) / float(way @ way), 0, 1)
        away = points - marks.centre.xy_mm - along[:, None] * way
        nearest = np.minimum(nearest, np.hypot(*away.T))
    for ring in marks.rings:
        nearest = np.minimum(nearest, np.abs(np.hypot(*(points - ring.centre_mm).T) - ring.radius_mm))
    return nearest
