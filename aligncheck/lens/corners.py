"""The corners of one view of a board, on a sheet that may curl."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Curls of a view. Paper bends one way at a time, along x or along y, and more towards its ends: up to the fourth power
#: (a lifted end, a hump, which by squares alone pass for the lens's own bend). Askew, to first order, it is x y.
CURLS = 7


@dataclass(frozen=True)
class Corners:
    """Board corners `points` (n, 2) in squares and `pixels` (n, 2) of one view, in the sensor's frame.

    Attributes
    ----------
    curls : ndarray (7,)
        How far the sheet stands out where the board ends, in squares, by each column of `basis`.
    curl_sd : float
        How far they may be from that, as a standard deviation; 0: the sheet is as stated.
    square : bool
        The board is as high as wide, so that nothing tells which way it was printed.
    """

    points: Floats
    pixels: Floats
    curls: Floats = field(default_factory=lambda: np.zeros(CURLS))
    curl_sd: float = 0.0
    square: bool = False

    @cached_property
    def basis(self) -> Floats:
        """Height (n, 7) of each unit curl: one square where the board ends."""
        middle, half = (self.points.max(0) + self.points.min(0)) / 2, np.ptp(self.points, axis=0).max() / 2
        x, y = ((self.points - middle) / half).T
        return np.column_stack([x * x, x * y, y * y, x**3, y**3, x**4, y**4])

    @property
    def solid(self) -> Floats:
        """The corners in space (n, 3), in squares."""
        return np.column_stack([self.points, self.basis @ self.curls])

    @property
    def rise(self) -> float:
        """How far the sheet stands out where the board ends, as a share of the board's length."""
        return float(np.abs(self.basis @ self.curls).max() / np.ptp(self.points, axis=0).max())
