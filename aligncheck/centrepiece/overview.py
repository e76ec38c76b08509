"""The whole panel at a coarse scale: where something lies on it, and what the bare panel looks like."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import cube_root_colours
from aligncheck.centrepiece.core import NEAR_MM
from aligncheck.centrepiece.ground import Ground, fit_ground
from aligncheck.centrepiece.hidden import hidden_region
from aligncheck.centrepiece.lines import line_mask
from aligncheck.centrepiece.window import Floats, Mask, Window
from aligncheck.centrepiece.witness import Cells, line_cells
from aligncheck.marks import Marks
from aligncheck.panel import flat_view
from aligncheck.panel.flat import reduction_for
from aligncheck.photo import Photo

#: Coarse pixels per mm, fewer on panels so large that this would be more than so many pixels across.
SCALE, MOST_PX = 2.0, 800
#: The photo is reduced before it is seen from above, but stays so many times finer than the view: coarser, it would
#: make chalk broad enough to pass for something solid.
FINER = 1.7
#: What lies beside a line, this far (sd, mm), says whether it is covered.
BESIDE_MM = 1.5


class Overview(NamedTuple):
    """The panel seen as a whole.

    Attributes
    ----------
    window : Window
        All of the panel.
    ground : Ground
    lines : ndarray (h, w) of bool
        Known marks.
    cells : Cells or None
        Known lines, seen or not.
    centre_mm : ndarray (2,)
    hidden : ndarray (h, w) of bool, or None
        Where lines are hidden beyond doubt.
    """

    window: Window
    ground: Ground
    lines: Mask
    cells: Cells | None
    centre_mm: Floats
    hidden: Mask | None = None

    def nearness(self, rows: NDArray[np.int_], columns: NDArray[np.int_]) -> Floats:
        """How near the centre pixels (n,) off the lines lie, 0 to 1; nought on them."""
        away = np.hypot(*(self.window.to_panel(np.column_stack([columns, rows])) - self.centre_mm).T)
        return np.asarray(np.exp(-0.5 * (away / NEAR_MM) ** 2) * ~self.lines[rows, columns], float)

    @property
    def beside_px(self) -> float:
        """Standard deviation of those surroundings."""
        return BESIDE_MM * self.window.px_per_mm

    def cells_in(self, mask: Mask) -> Mask:
        """Which of `cells` lie within `mask`, a mask of `window`."""
        if self.cells is None:
            return np.zeros(0, bool)
        at = np.rint(self.window.to_view(self.cells.at_mm)).astype(int)
        height, width = mask.shape
        inside = (at >= 0).all(1) & (at[:, 0] < width) & (at[:, 1] < height)
        found = np.zeros(len(at), bool)
        found[inside] = mask[at[inside, 1], at[inside, 0]]
        return found


def overview(photo: Photo, marks: Marks, px_per_mm: float = SCALE, cells: Cells | None = None) -> Overview:
    """Look at the whole panel."""
    panel = marks.panel
    scale = min(px_per_mm, MOST_PX / max(panel.width_mm, panel.height_mm))
    factor = reduction_for(panel, scale, FINER)
    # Means of pixels, so that chalk is not skipped.
    view = flat_view(photo.reduced(factor), panel, scale, reduction=factor)
    colours, origin = cube_root_colours(view.image), view.origin_px
    cells = cells or line_cells(photo, marks)
    # A large piece would bend the surface towards itself: where lines are hidden it says nothing of the panel.
    hidden = hidden_region(cells, lambda mm: mm * scale + origin, colours.shape[:2], scale) if cells else None
    ground = fit_ground(colours, scale, (panel.width_mm / 2, panel.height_mm / 2), hidden)
    window = Window(colours, ground.image(colours.shape[:2], scale, origin), scale, origin)
    lines = line_mask(window, marks)
    return Overview(window, ground, lines, cells, marks.centre.xy_mm, hidden)


def distance_mm(mask: Mask, px_per_mm: float) -> Floats:
    """Distance (h, w) of every pixel outside `mask` from it, mm."""
    return np.asarray(cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5), float) / px_per_mm
