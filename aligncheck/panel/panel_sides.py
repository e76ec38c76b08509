"""The panel's sides as they were cut, and how far points of its face lie from them."""

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.panel.panel import Panel

Floats = NDArray[np.float64]
SideName = Literal["top", "right", "bottom", "left"]
#: In the order of the panel's corners: side k runs from corner k to the next.
SIDES: tuple[SideName, ...] = ("top", "right", "bottom", "left")


class PanelSide(NamedTuple):
    """One side in the panel's frame: its name, where it starts, and the unit vector into the face."""

    name: SideName
    start_mm: Floats
    inward: Floats

    def away(self, points_mm: ArrayLike) -> Floats:
        """How far points (..., 2) lie inside it, mm."""
        return np.asarray((np.asarray(points_mm, float) - self.start_mm) @ self.inward, float)

    def foot(self, point_mm: Floats) -> Floats:
        """The point of the side (2,) straight across from a point (2,)."""
        return np.asarray(point_mm - float(self.away(point_mm)) * self.inward, float)

    def map_variance(self, panel: Panel, point_mm: Floats) -> float:
        """What the map adds to the variance of how far a point (2,) lies inside, mm^2.

        The side moves with its corners as the point does with the whole map: what both share does not count.
        """
        change = self.inward @ (panel.field(point_mm) - panel.field(self.foot(point_mm)))
        return float(change @ panel.covariance @ change)


def panel_sides(panel: Panel) -> tuple[PanelSide, ...]:
    """Top, right, bottom and left, where they are known to lie."""
    return sides_between(panel.corners_mm)


def sides_between(corners_mm: Floats) -> tuple[PanelSide, ...]:
    """The sides that run between four corners."""
    sides = []
    for k, name in enumerate(SIDES):
        ahead = corners_mm[(k + 1) % 4] - corners_mm[k]
        ahead /= np.linalg.norm(ahead)
        sides.append(PanelSide(name, corners_mm[k], np.array([-ahead[1], ahead[0]])))
    return tuple(sides)
