"""The whole panel at a coarse scale: where something lies on it, and what the bare panel looks like."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np

from aligncheck.centrepiece.colours import Singles, cube_root_colours
from aligncheck.centrepiece.core import NEAR_MM
from aligncheck.centrepiece.ground import Ground, fit_ground
from aligncheck.centrepiece.hidden import hidden_region
from aligncheck.centrepiece.lines import line_mask
from aligncheck.centrepiece.window import Floats, Mask, Window
from aligncheck.centrepiece.witness import Cells, line_cells
from aligncheck.marks import Marks
from aligncheck.panel import FlatView, flat_view
from aligncheck.photo import Photo

#: Coarse pixels per mm, fewer on panels so large that this would be more than so many pixels across.
SCALE, MOST_PX = 2.0, 800
#: What lies beside a line, this far (sd, mm), says whether it is covered.
BESIDE_MM = 1.5


@dataclass(frozen=True)
class Overview:
    """The panel seen as a whole.

    Attributes
    ----------
    view : FlatView
        SRGB, twice as fine as `window`.
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

    view: FlatView
    window: Window
    ground: Ground
    lines: Mask
    cells: Cells | None
    centre_mm: Floats
    hidden: Mask | None = None

    @cached_property
    def nearness(self) -> Singles:
        """How near the centre each pixel (h, w) off the lines lies, 0 to 1; nought on them."""
        near = np.exp(-0.5 * (self.window.radius_mm(self.centre_mm) / np.float32(NEAR_MM)) ** 2)
        return np.asarray(near * ~self.lines, np.float32)

    @cached_property
    def off_lines(self) -> Singles:
        """Share (h, w) of each pixel's surroundings, `BESIDE_MM` wide, that lies off the lines."""
        return np.asarray(cv2.GaussianBlur((~self.lines).astype(np.float32), (0, 0), self.beside_px), np.float32)

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


def overview(photo: Photo, marks: Marks) -> Overview:
    """Look at the whole panel."""
    panel = marks.panel
    scale = min(SCALE, MOST_PX / max(panel.width_mm, panel.height_mm))
    view = flat_view(photo.rgb, panel, 2 * scale)
    small = cv2.resize(view.image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    colours = cube_root_colours(np.asarray(small, np.uint8))
    origin = ((colours.shape[1] - 1) / 2, (colours.shape[0] - 1) / 2)
    cells = line_cells(view, marks)
    # A large piece would bend the surface towards itself: where lines are hidden it says nothing of the panel.
    hidden = hidden_region(cells, lambda mm: mm * scale + origin, colours.shape[:2], scale) if cells else None
    ground = fit_ground(colours, scale, (panel.width_mm / 2, panel.height_mm / 2), hidden)
    window = Window(colours, ground.image(colours.shape[:2], scale, origin), scale, origin)
    lines = line_mask(window, marks)
    return Overview(view, window, ground, lines, cells, marks.centre.xy_mm, hidden)


def distance_mm(mask: Mask, px_per_mm: float) -> Floats:
    """Distance (h, w) of every pixel outside `mask` from it, mm."""
    return np.asarray(cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5), float) / px_per_mm
