"""The whole panel from above in colour at a modest scale, averaged and not skipped where the photo is finer."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import cube_root_colours
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps
from aligncheck.photo import Photo

Singles = NDArray[np.float32]


class ColourView(NamedTuple):
    """Cube-root colours (h, w, 3) of the flat view; `origin_px` is where the panel's origin lies."""

    colours: Singles
    px_per_mm: float
    origin_px: tuple[float, float]

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return self.colours.shape[0], self.colours.shape[1]


def colour_view(photo: Photo, panel: Panel, side_px: int) -> ColourView:
    """Rectify the photo so that the panel's longer side is `side_px`."""
    scale = side_px / max(panel.width_mm, panel.height_mm)
    width, height = round(panel.width_mm * scale), round(panel.height_mm * scale)
    origin = ((width - 1) / 2, (height - 1) / 2)
    map_x, map_y = flat_maps(panel, scale, (width, height), origin)
    factor = int(np.clip(2 ** np.floor(np.log2(max(float(panel.px_per_mm()) / scale, 1.0))), 1, 8))
    if factor > 1:
        map_x, map_y = ((m + np.float32(0.5)) / np.float32(factor) - np.float32(0.5) for m in (map_x, map_y))
    picture = cv2.remap(photo.reduced(factor), map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return ColourView(cube_root_colours(np.asarray(picture, np.uint8)), scale, origin)
