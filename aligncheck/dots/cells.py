"""Cells of a ground that chalk and dots cut up, each smaller than a ground must be.

A dot is a dome or as round as one. A cell is neither: bounded by lines and by other dots it is not round, and flat
paint varies from point to point, by its own grain and the photo's noise, but not slowly, as the side of a dome does.
"""

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components

from aligncheck.geometry.channels import lengths

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Labels = NDArray[np.int32]
Mask = NDArray[np.bool_]

#: Smaller zones show too little to be told, mm2: about as wide as a line with what blur takes on both sides.
SMALLEST_MM2 = 5.0
#: A disc fills the circle about it, with what a dot beside it hides of it this share; a square fills 0.64.
ROUND = 0.7
#: Flat paint differs from its middle colour by less than so many times what a blur over a few pixels takes away, for
#: grain and noise are as fine as that; and changes by less than so many times that a mm. Cells of painted grounds came
#: to 0.5 to 2 and 0.02 to 1.3, parts of domes on ten pieces to 2 and more and 4.8 to 12.
FLAT, LEVEL = 2.0, 2.5


def like_cells(small: Singles, soft: Singles, label: Labels, stats: Labels, some: Mask, px_per_mm: float) -> Mask:
    """Which of `some` zones (zones,) may be cells of some ground, by their shape and how even they are.

    Parameters
    ----------
    small, soft : ndarray (h, w, 3)
        Difference from the bare panel in units of its noise, and the same blurred.
    label : ndarray (h, w)
        The number of each place's zone; 0 is none.
    stats : ndarray (zones, 5)
        OpenCV's statistics of each zone.
    """
    found = np.zeros(len(stats), bool)
    for k in np.flatnonzero(some):
        x, y, w, h = (int(v) for v in stats[k, :4])
        box = np.s_[y : y + h, x : x + w]
        found[k] = _like_a_cell(label[box] == k, small[box], soft[box], px_per_mm)
    return found


def alike(colour: Floats, same: float) -> NDArray[np.int64]:
    """Which paint, from 0 on, each of these colours (n, 3) is of: they hang together by steps smaller than `same`."""
    near = np.linalg.norm(colour[:, None] - colour, axis=-1) < same
    return np.asarray(connected_components(near, directed=False)[1], np.int64)


def large_together(colour: Floats, area: Floats, same: float, least: float) -> Mask:
    """Which zones (n,) of these colours (n, 3) are with those of the same paint as large as `least`."""
    if not len(area):
        return np.zeros(0, bool)
    paint = alike(colour, same)
    return np.asarray(np.bincount(paint, area)[paint] >= least, bool)


def _like_a_cell(zone: Mask, small: Singles, soft: Singles, px_per_mm: float) -> bool:
    """Whether one zone is no dot nor a part of one; `zone` (h, w) within its box, and both pictures there."""
    outline = max(
        cv2.findContours(np.pad(zone.astype(np.uint8), 1), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)[0], key=len
    )
    radius = cv2.minEnclosingCircle(outline)[1]
    if cv2.contourArea(cv2.convexHull(outline)) > ROUND * np.pi * radius**2:
        return False
    seen = soft[zone]
    fine = float(np.median(lengths(small[zone] - seen)))
    if float(np.median(lengths(seen - np.median(seen, axis=0)))) > FLAT * fine:
        return False
    at = np.argwhere(zone).astype(np.float32)
    slope, *_ = np.linalg.lstsq(at - at.mean(0), seen - seen.mean(0), rcond=None)
    return float(np.linalg.norm(slope)) * px_per_mm < LEVEL * fine
