"""How far a panel's shape is from the rectangle that it should be, in the two ways that rings tell: what a carpenter
finds by measuring both diagonals, and whether it is as wide as its height wants it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Squareness(NamedTuple):
    """A panel's shape by its round rings alone, whatever is usual for panels.

    Attributes
    ----------
    diagonals_mm, diagonals_u95_mm : float
        The diagonal from its top left to its bottom right less the other one.
    too_wide_mm, too_wide_u95_mm : float
        How much too wide it is for its height.
    """

    diagonals_mm: float
    diagonals_u95_mm: float
    too_wide_mm: float
    too_wide_u95_mm: float


def shape_slopes(width_mm: float, height_mm: float) -> Floats:
    """How the corners' shifts (x, y of each) change the diagonals' difference and `too_wide_mm`: (2, 8).

    Neither shift, turn nor size of the whole panel changes any of them: rings do not tell these.
    """
    along = np.array([width_mm, height_mm]) / np.hypot(width_mm, height_mm)
    back = along * (-1, 1)
    diagonals = np.array([-along, back, along, -back])
    wide = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) / 2 * (1, width_mm / height_mm)
    return np.stack([diagonals.ravel(), wide.ravel()])
