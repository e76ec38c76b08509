"""Rigid motions in the plane: y down, turns clockwise as seen."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def turn_matrix(turn_deg: float) -> Floats:
    """Turns vectors (x right, y down) clockwise."""
    a = np.radians(turn_deg)
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])


@dataclass(frozen=True)
class Motion:
    """Turn by `turn_deg` clockwise about `pivot_mm`, then shift by `shift_mm` (both (2,))."""

    pivot_mm: Floats
    shift_mm: Floats
    turn_deg: float

    def __call__(self, points_mm: ArrayLike) -> Floats:
        """Move points (..., 2)."""
        p = np.asarray(points_mm, float) - self.pivot_mm
        return np.asarray(p @ turn_matrix(self.turn_deg).T + self.pivot_mm + self.shift_mm, float)

    def nudged(self, by: Floats) -> "Motion":
        """With (dx, dy, turn in radians) added."""
        return Motion(self.pivot_mm, self.shift_mm + by[:2], self.turn_deg + float(np.degrees(by[2])))
