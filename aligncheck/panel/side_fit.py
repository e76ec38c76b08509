"""The SideFit value: four fitted sides, the corners where they cross, and how sure all that is."""

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.uncertainty import u95_point
from aligncheck.lens import Lens
from aligncheck.panel.kind import Kind
from aligncheck.panel.panel import Panel

if TYPE_CHECKING:
    from aligncheck.panel.in_common import Sides

Floats = NDArray[np.float64]


class SideFit(NamedTuple):
    """The panel's four sides (top, right, bottom, left) fitted at full resolution.

    Attributes
    ----------
    corners_px : ndarray (4, 2)
        Where the straight sides cross, in photo pixels: top left, top right, bottom right, bottom left.
    lens : Lens
        Focal length and bend as fitted; source "profile" where they were given, else "panel".
    covariance : ndarray (10, 10)
        Of p as in :class:`Panel`: eight corner displacements in mm, then k1 and k2.
    strength : ndarray (4,)
        How clearly each side shows: median step across it over its scatter (about 1: barely there; > 3: clear).
    residual_px : ndarray (4,)
        Robust scatter of the pieces of each side about the fitted side.
    has_step : ndarray (4,) of bool
        Whether the side shows as a sharp step at all; a side without one is placed by weaker signs.
    shape_chi2 : float
        How badly the quadrilateral disagrees with a W x H rectangle seen by this camera (chi-squared, 2 numbers).
    kinds : tuple of Kind
        How the panel may be made, and the map's parameters then.
    passed_over : tuple of bool
        Whether a stronger track of each side was passed over because the others suited the shape better.
    sides : Sides or None
        What the kinds were told from.
    """

    corners_px: Floats
    lens: Lens
    covariance: Floats
    strength: Floats
    residual_px: Floats
    has_step: NDArray[np.bool_]
    shape_chi2: float
    kinds: tuple[Kind, ...] = ()
    passed_over: tuple[bool, ...] = (False, False, False, False)
    sides: "Sides | None" = None

    @property
    def largest_u95_mm(self) -> float:
        """Radius of the 95 % disc of the least sure corner."""
        return max(u95_point(self.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]) for k in range(4))

    def panel(self, width_mm: float, height_mm: float) -> Panel:
        """The Panel with this map and covariance."""
        found = Panel.from_corners(width_mm, height_mm, self.lens, self.corners_px, self.covariance)
        return replace(found, kinds=self.kinds, sides=self.sides)
