"""Where the sides of measured rows run on the map of chalk."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import KNOWN_SHARE, ChalkMap
from aligncheck.rows.fit import RowFit, sides

#: A stroke is seen about so wide, and taken for the same so far beside its line, mm.
WIDE_MM, SAME_MM = 1.0, 0.8
#: Points along a side.
POINTS = 40


def drawn(chalk: ChalkMap, rows: Sequence[RowFit], sparse: int = 1) -> NDArray[np.bool_]:
    """Where rows' sides run, on every so many pixels of the map."""
    there = np.zeros(chalk.tensor[::sparse, ::sparse].shape[:2], np.uint8)
    scale = chalk.px_per_mm / sparse
    width = max(3, round((2 * SAME_MM + WIDE_MM) * scale))
    for fit in rows:
        points, _ = sides(fit.shape, fit.numbers, np.linspace(0.02, 1, POINTS) ** 1.5)
        for line in fit.frame.to_panel(points).reshape(-1, POINTS, 2):
            pixels = np.rint(line * scale + np.array(chalk.origin_px) / sparse).astype(np.int32)
            cv2.polylines(there, [pixels], False, 1, width)
    return there > 0


def without(chalk: ChalkMap, rows: Sequence[RowFit]) -> ChalkMap:
    """The map with rows' sides hidden as known lines are."""
    gone = drawn(chalk, rows)
    tensor = chalk.tensor.copy()
    tensor[gone] = (0, 0, 0, KNOWN_SHARE)
    return chalk._replace(tensor=tensor)
