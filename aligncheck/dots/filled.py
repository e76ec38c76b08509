"""How much of an outline known dots fill: what lies on the panel hides dots, a patch of paint is made of them."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots

Floats = NDArray[np.float64]

#: Outlines and dots are laid out on a grid of this step, mm.
FINE_MM = 0.25


def filled_share(dots: Dots, outlines: Sequence[Floats]) -> float:
    """Share (0 to 1) of the area within `outlines`, each (n, 2) in the panel frame, that dots of kinds cover."""
    every = np.concatenate(list(outlines))
    low = every.min(0)
    shape = np.ceil((every.max(0) - low) / FINE_MM).astype(int) + 1
    inside, paint = (np.zeros(shape[::-1], np.uint8) for _ in range(2))
    cv2.fillPoly(inside, [np.round((outline - low) / FINE_MM).astype(np.int32) for outline in outlines], 1)
    for dot in dots.dots:
        if dot.kind is not None:
            x, y = np.round((dot.centre_mm - low) / FINE_MM).astype(int).tolist()
            cv2.circle(paint, (x, y), round(dot.diameter_mm / 2 / FINE_MM), 1, cv2.FILLED)
    return float((inside & paint).sum() / max(int(inside.sum()), 1))
