"""Spokes that paint covers: what is seen along them is dots, and where their chalk ends nobody can see."""

import numpy as np

from aligncheck.dots import Dots
from aligncheck.geometry.angles import clockwise, outward
from aligncheck.marks import Spoke

#: A dot this near to a spoke's measured end is what ended it, or lies where its chalk went on, mm: as far as the end is
#: looked for.
NEAR_END_MM = 6.0


def is_covered(spoke: Spoke, dots: Dots | None) -> bool:
    """Whether a dot lies on the spoke's line at its outer end."""
    if dots is None or not dots.dots:
        return False
    away = np.array([dot.centre_mm for dot in dots.dots]) - spoke.outer_mm
    radius = np.array([dot.diameter_mm for dot in dots.dots]) / 2
    beside = np.abs(away @ clockwise(spoke.angle_deg)) - radius
    along = np.abs(away @ outward(spoke.angle_deg)) - radius
    return bool(((beside < spoke.width_mm / 2) & (along < NEAR_END_MM)).any())
