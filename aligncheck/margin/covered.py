"""Spokes that paint covers: what is seen along them is dots, and where their chalk ends nobody can see."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots import Dots
from aligncheck.geometry.angles import clockwise, outward
from aligncheck.marks import Spoke

Floats = NDArray[np.float64]

#: A dot this near to a spoke's measured end is what ended it, or lies where its chalk went on, mm: as far as the end is
#: looked for.
NEAR_END_MM = 6.0


def uncovered(spokes: tuple[Spoke, ...], dots: Dots | None) -> tuple[Spoke, ...]:
    """Those of the spokes whose lines no dot lies on at their outer ends."""
    if dots is None or not dots.dots:
        return spokes
    centres = np.array([dot.centre_mm for dot in dots.dots])
    radius = np.array([dot.diameter_mm for dot in dots.dots]) / 2
    return tuple(spoke for spoke in spokes if not _meets(spoke, centres, radius))


def _meets(spoke: Spoke, centres: Floats, radius: Floats) -> bool:
    """Whether a disc lies on the spoke's line at its outer end."""
    away = centres - spoke.outer_mm
    beside = np.abs(away @ clockwise(spoke.angle_deg)) - radius
    along = np.abs(away @ outward(spoke.angle_deg)) - radius
    return bool(((beside < spoke.width_mm / 2) & (along < NEAR_END_MM)).any())
