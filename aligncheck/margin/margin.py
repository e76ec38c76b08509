"""The Margin value: how much of the panel is clear on each side of the design."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note
from aligncheck.panel.panel_sides import SIDES, SideName

Floats = NDArray[np.float64]
Reacher = Literal["spoke", "ring", "paint", "centrepiece"]


@dataclass(frozen=True)
class SideMargin:
    """One side of the face: what is clear from it to the outermost part of the design, and where that part ends.

    Attributes
    ----------
    side : str
    margin_mm, u95_mm : float
    point_mm : ndarray (2,)
        Of the design, in the panel frame.
    by : str
        What reaches there: "spoke", "ring", "paint" or "centrepiece".
    """

    side: SideName
    margin_mm: float
    u95_mm: float
    point_mm: Floats
    by: Reacher


@dataclass(frozen=True)
class Margin:
    """All four sides, top, right, bottom, left.

    Attributes
    ----------
    sides : tuple of SideMargin
    off_middle_mm : (float, float)
        From the panel's middle to the middle of the design's extent, x right, y down.
    off_middle_u95_mm : (float, float)
    rebate_mm : float or None
        How far the frame reaches over each side.
    """

    sides: tuple[SideMargin, ...]
    off_middle_mm: tuple[float, float]
    off_middle_u95_mm: tuple[float, float]
    rebate_mm: float | None = None
    notes: tuple[Note, ...] = ()

    def of(self, side: SideName) -> SideMargin:
        """The margin of one side."""
        return self.sides[SIDES.index(side)]
