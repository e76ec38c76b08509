"""The part of the panel whose lines cannot be seen, whatever colour hides them."""

from collections.abc import Callable

import cv2
import numpy as np

from aligncheck.centrepiece.window import Floats, Mask
from aligncheck.centrepiece.witness import Cells

#: A cell speaks for what lies this far (sd, mm) from it: lines are about so far apart.
AROUND_MM = 5.0
#: Sum of log odds, weighted by distance, from which on a place lies under something; and of all cells in one part.
HERE, WHOLE = 3.0, 30.0
#: Beyond the last hidden cell whatever hides it goes on for a while, mm.
BEYOND_MM = 3.0


def hidden_region(
    cells: Cells, to_view: Callable[[Floats], Floats], shape: tuple[int, int], px_per_mm: float
) -> Mask | None:
    """Pixels (h, w) of parts where lines are hidden beyond doubt; None where there are none."""
    # A coarse image does: the region is no finer than the lines are apart.
    coarse = max(1, round(2 * px_per_mm))
    height, width = -(-shape[0] // coarse), -(-shape[1] // coarse)
    at = np.rint(to_view(cells.at_mm) / coarse - 0.5).astype(int)
    inside = (at >= 0).all(1) & (at[:, 0] < width) & (at[:, 1] < height)
    odds = np.zeros((height, width), np.float32)
    np.add.at(odds, (at[inside, 1], at[inside, 0]), cells.odds_each[inside])
    sd = AROUND_MM * px_per_mm / coarse
    # A blurred point is 1 / (2 pi sd^2) high: this brings it back to its odds.
    field = np.asarray(cv2.GaussianBlur(odds, (0, 0), sd), np.float32) * (2 * np.pi * sd**2)
    number, labels = cv2.connectedComponents((field > HERE).astype(np.uint8), connectivity=4)
    sums = np.bincount(labels.ravel(), odds.ravel(), number)
    sure = np.flatnonzero(sums > WHOLE)
    sure = sure[sure > 0]
    if not len(sure):
        return None
    grow = round(BEYOND_MM * px_per_mm / coarse)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * grow + 1, 2 * grow + 1))
    region = cv2.dilate(np.isin(labels, sure).astype(np.uint8), kernel)
    return cv2.resize(region, (shape[1], shape[0]), interpolation=cv2.INTER_NEAREST) > 0
