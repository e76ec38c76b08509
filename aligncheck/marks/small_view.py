"""The panel from above at a modest scale, where a stroke is a few pixels wide: what detection looks at."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_view, reduction_for

#: The view's longer side in pixels: a 1 mm stroke on a 30 cm panel is then 3 pixels wide.
SIDE_PX = 900
MIN_PX_PER_MM, MAX_PX_PER_MM = 1.4, 6.0


def small_flat_view(
    grey: NDArray[np.uint8], panel: Panel, side_px: int = SIDE_PX
) -> tuple[NDArray[np.uint8], float, tuple[float, float]]:
    """The panel from above at a modest scale: picture, px per mm, and the panel's origin in it.

    The photo is first reduced by area means, so that fine chalk is averaged and not skipped.
    """
    scale = float(np.clip(side_px / max(panel.width_mm, panel.height_mm), MIN_PX_PER_MM, MAX_PX_PER_MM))
    factor = reduction_for(panel, scale)
    if factor > 1:
        size = (grey.shape[1] // factor, grey.shape[0] // factor)
        grey = np.asarray(
            cv2.resize(grey[: size[1] * factor, : size[0] * factor], size, interpolation=cv2.INTER_AREA), np.uint8
        )
    view = flat_view(grey, panel, scale, reduction=factor)
    return view.image, scale, view.origin_px
