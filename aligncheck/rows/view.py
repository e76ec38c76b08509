"""The whole panel from above in colour at a modest scale, averaged and not skipped where the photo is finer."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import cube_root_colours
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_view, reduction_for
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
    factor = reduction_for(panel, scale)
    view = flat_view(photo.reduced(factor), panel, scale, reduction=factor)
    return ColourView(cube_root_colours(view.image), scale, view.origin_px)
