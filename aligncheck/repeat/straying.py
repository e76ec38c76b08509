"""How unlike two pictures are beyond what a hand's straying explains: neither has what the other has not nearby."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.channels import summed
from aligncheck.repeat.even import LIGHTNESS_WEIGHT
from aligncheck.repeat.smooth import smoothed
from aligncheck.repeat.unrolled import STEP_MM
from aligncheck.side_by_side import beside

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: A hand strays this far without being at fault, mm.
STRAY_MM = 1.5
#: Colours are compared as means over so much, mm (sd): a dome's highlight and shade stand elsewhere in every segment,
#: and cancel over the dot.
SOFT_MM = 1.0
#: Shifts outward and round that are tried, half a millimetre apart: between them an edge's colours hardly change.
_TRIED = np.arange(-STRAY_MM, STRAY_MM + 0.1, 0.5)
SHIFTS_MM = [(float(a), float(b)) for a in _TRIED for b in _TRIED if np.hypot(a, b) <= STRAY_MM + 1e-6]


def unlike_beyond_straying(one: Singles, other: Singles, radii_mm: Floats, columns_deg: float) -> Singles:
    """Distance (radii, steps) of two pictures (radii, steps, 3) of whole rings, CIELAB.

    Every place of each is laid to the most like place of the other within `STRAY_MM`; the less like of both counts.
    What is there too much shows the one way, what is missing the other.
    """
    arc_mm = np.radians(columns_deg) * radii_mm
    here, there = _soft(one, arc_mm), _soft(other, arc_mm)
    missing = beside(lambda: _nearest(there, here, arc_mm))
    far = np.maximum(_nearest(here, there, arc_mm), missing())
    return np.asarray(np.sqrt(far), np.float32)


def _soft(picture: Singles, arc_mm: Floats) -> Singles:
    """Means of colours, weighted as they count in a distance."""
    return smoothed(picture * np.array([LIGHTNESS_WEIGHT, 1, 1], np.float32), arc_mm, SOFT_MM)


def _nearest(one: Singles, other: Singles, arc_mm: Floats) -> Singles:
    """Squared distance (radii, steps) of every colour to the most like one of the other within `STRAY_MM`."""
    radii, steps = one.shape[:2]
    pad = int(np.ceil(STRAY_MM / arc_mm.min())) + 1
    ring = np.concatenate([other[:, -pad:], other, other[:, :pad]], axis=1)
    rows, columns = np.mgrid[0:radii, pad : pad + steps].astype(np.float32)
    by_mm = (1 / arc_mm[:, None]).astype(np.float32)
    best = np.full((radii, steps), np.inf, np.float32)
    for outward, around in SHIFTS_MM:
        place = columns + around * by_mm, rows + outward / STEP_MM
        moved = cv2.remap(ring, *place, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        apart = one - moved
        np.minimum(best, summed(apart * apart), out=best)
    return best
