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
    """One side in the panel's frame: its name, where it starts, and the unit vectors along it and into the face."""

    name: SideName
    start_mm: Floats
    ahead: Floats
    inward: Floats

    def away(self, points_mm: ArrayLike) -> Floats:
        """How far points (..., 2) lie inside it, mm."""
        return np.asarray((np.asarray(points_mm, float) - self.start_mm) @ self.inward, float)

    def map_variance(self, panel: Panel, point_mm: Floats) -> float:
        """What the map adds to the variance of how far a point (2,) lies inside, mm^2.

        The side moves with its corners as the point does with the whole map: what both share does not count.
        """
        foot = point_mm - float(self.away(point_mm)) * self.inward
        change = self.inward @ (panel.field(point_mm) - panel.field(foot))
        return float(change @ panel.covariance @ change)


def panel_sides(panel: Panel) -> tuple[PanelSide, ...]:
    """Top, right, bottom and left, between the corners where these are known to lie."""
    corners = panel.corners_mm
    sides = []
    for k, name in enumerate(SIDES):
        ahead = corners[(k + 1) % 4] - corners[k]
        ahead /= np.linalg.norm(ahead)
        sides.append(PanelSide(name, corners[k], ahead, np.array([-ahead[1], ahead[0]])))
    return tuple(sides)
