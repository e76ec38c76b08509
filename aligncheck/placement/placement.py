"""The Placement value: where the piece lies now against where it lay."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Placement:
    """Shift and turn of the piece from the earlier photo to the present one.

    Attributes
    ----------
    dx_mm, dy_mm : float
        Shift of the middle (centroid) of the piece's plan, in the EARLIER photo's panel frame, y down.
    turn_deg : float
        Clockwise.
    quarters : int
        How many quarter turns clockwise bring the present photo's panel frame into the earlier one's.
    back_mm : (float, float)
        The shift that puts it back, in the PRESENT photo's panel frame, y down.
    tips_mm : float
        How far the outermost tip travels in the turn that puts it back; positive clockwise.
    height_mm, height_u95_mm : float
        Height of the outer edge that was taken.
    matches : int
        Points of the piece that both photos show; 0 where outlines alone decided.
    earlier_outline_mm : ndarray (n, 2)
        The earlier outline as the present camera would see it, in the present photo's panel frame.
    """

    dx_mm: float
    dx_u95_mm: float
    dy_mm: float
    dy_u95_mm: float
    turn_deg: float
    turn_u95_deg: float
    quarters: int
    back_mm: tuple[float, float]
    tips_mm: float
    tips_u95_mm: float
    height_mm: float
    height_u95_mm: float
    matches: int
    earlier_outline_mm: Floats
    notes: tuple[Note, ...] = ()
