"""Dots that have no like in the other segments: the middle one, and odd ones that are plainly dots."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.choice import LEAST_PX
from aligncheck.dots.measured import Measured
from aligncheck.dots.slots import Slots
from aligncheck.dots.support import OVERLAP
from aligncheck.geometry.near import Near

#: What a circle must show by itself, when no other segment bears it out.
LEAST_COVERAGE, LEAST_FIGURE, LEAST_CONTRAST, MOST_ROUGHNESS, LEAST_MM = 0.93, 0.3, 6.0, 0.6, 2.0
#: A dot that lies on the point that all turns about: within this share of its radius, with so much less to show. Chalk
#: crosses there too, and makes no blot of that many mm.
MIDDLE_SHARE, MIDDLE_COVERAGE, MIDDLE_FIGURE, MIDDLE_MM = 0.5, 0.7, 0.2, 4.0


def lone_circles(found: Measured, slots: Slots) -> Measured:
    """Those of `found` that stand by themselves and lie on no dot of a kind."""
    plain = (
        (found.coverage >= LEAST_COVERAGE)
        & (found.figure >= LEAST_FIGURE)
        & (found.contrast >= LEAST_CONTRAST)
        & (found.roughness <= MOST_ROUGHNESS)
        & (2 * found.radius_mm >= LEAST_MM)
        & (2 * found.rims.r >= LEAST_PX)
    )
    # A dot in the very middle is its own like in every segment, so that its rim may be half hidden.
    middle = (
        (np.hypot(*found.xy_mm.T) < MIDDLE_SHARE * found.radius_mm)
        & (found.coverage >= MIDDLE_COVERAGE)
        & (found.figure >= MIDDLE_FIGURE)
        & (found.contrast >= LEAST_CONTRAST)
        & (2 * found.radius_mm >= MIDDLE_MM)
    )
    lone = found.take(np.flatnonzero(plain | middle))
    if not len(lone):
        return lone
    dots = slots.circles.take(np.flatnonzero(slots.filled))
    return lone.take(~_touching(lone, dots))


def _touching(lone: Measured, dots: Measured) -> NDArray[np.bool_]:
    """Whether each lone circle overlaps a dot."""
    reach = OVERLAP * (lone.radius_mm + dots.radius_mm.max(initial=0))
    i, j, apart = Near(dots.xy_mm).pairs(lone.xy_mm, reach)
    on = np.zeros(len(lone), bool)
    on[i[apart < OVERLAP * (lone.radius_mm[i] + dots.radius_mm[j])]] = True
    return on
