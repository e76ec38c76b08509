"""Whether an outline stands out from what lies around it: a panel shades its sheet, a painted border shades nothing."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.bands import bands_of
from aligncheck.panel.panel import Panel

#: How far outside is looked at, and there the rows next to the outline (but for its blur) and those far from it, px of
#: the rectified picture.
OUTSIDE_PX, NEXT_PX, FAR_PX = 24, (3, 7), (16, 24)
#: A side is shaded where the codes next to it are this much (share) below those further out, on nearly all its pieces.
LEAST_DIP, LEAST_SHARE = 0.04, 0.8


def throws_shadow(pixels: NDArray[np.uint8], panel: Panel) -> bool:
    """Whether what lies outside at least one side of `panel` darkens towards it.

    Panels are 3 mm thick and more: lamps and sky light the table beside them less, at least on one side.
    """
    return any(_shaded(band.values[..., 0]) for band in bands_of(pixels, panel, depth=0.02, outside=OUTSIDE_PX))


def _shaded(luminance: NDArray[np.float32]) -> bool:
    beside, far = (luminance[OUTSIDE_PX - last : OUTSIDE_PX - first].mean(axis=0) for first, last in (NEXT_PX, FAR_PX))
    dip = 1 - (beside + 1) / (far + 1)
    return bool(np.median(dip) > LEAST_DIP and (dip > 0).mean() > LEAST_SHARE)
