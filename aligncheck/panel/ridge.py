"""Whether sides are chalk lines drawn so near to the panel's own that only a narrow strip of its ground shows beyond.

Beyond a side of a dark panel it gets lighter and stays so, but for a slow change. A chalk line along the side is
lighter than all about it: beyond it the light falls back to the panel's ground, or nearly, before it rises to the
table's.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.bands import Band
from aligncheck.panel.ground import BLACK, BLUR_PX, INSIDE_MM, STANDS_OUT, WIDEST_MM, thin_bands
from aligncheck.panel.panel import Panel

Floats = NDArray[np.float64]

#: The light beyond a line falls to this share of the line's, over the ground's: what is left is blur, or the table.
FALLS_TO = 0.4
#: The darkest place lies this far outside the fitted side, at least (px): beside the panel's true side it lies inside.
BEYOND_PX = 0.5


def ridges(pixels: NDArray[np.uint8], panel: Panel) -> int:
    """How many sides of `panel`, an outline as fitted, are such lines."""
    return sum(is_ridge(band) for band in thin_bands(pixels, panel))


def is_ridge(band: Band) -> bool:
    """Whether light along a side rises above the ground's and falls back outside it, within a line's width."""
    per_mm = band.px_per_mm
    outward = band.outside - np.arange(len(band.values)) - 0.5
    ground = medians(band.values[outward < -INSIDE_MM[0] * per_mm - BLUR_PX, :, 0], 0)
    light = medians(band.values[..., 0] - ground, 1)
    beside = np.abs(outward) < WIDEST_MM / 2 * per_mm + BLUR_PX
    peak = int(np.flatnonzero(beside)[light[beside].argmax()])
    if light[peak] < STANDS_OUT * (float(medians(ground)) + BLACK):
        return False
    # The first row lies furthest outside.
    beyond = np.flatnonzero((outward > outward[peak]) & (outward < outward[peak] + WIDEST_MM * per_mm))
    lowest = int(beyond[light[beyond].argmin()])
    return bool(light[lowest] < FALLS_TO * light[peak] and outward[lowest] > BEYOND_PX)
