"""The photo with its dots taken away: the bare panel's colour in their place, so that chalk shows alone."""

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import fit_ground
from aligncheck.dots.dots import Dot
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_view, reduction_for
from aligncheck.photo import Photo

#: A dot's blurred rim and the shadow at its foot reach this far, mm.
BEYOND_MM = 0.5
#: Scale of the view that tells the bare panel's colour: a block of 4 mm holds nine places.
PX_PER_MM = 2.0
#: Corners of the polygons that stand for circles, and the parts of a pixel that OpenCV places them by (powers of two).
CORNERS, PARTS = 32, 4


def bare_again(photo: Photo, panel: Panel, dots: tuple[Dot, ...]) -> Photo:
    """The photo with `dots` covered by the bare panel's colour."""
    factor = reduction_for(panel, PX_PER_MM)
    view = flat_view(photo.reduced(factor) if factor > 1 else photo.rgb, panel, PX_PER_MM, reduction=factor)
    codes = view.image.astype(np.float32)
    ground = fit_ground(codes / np.float32(255), PX_PER_MM, (panel.width_mm / 2, panel.height_mm / 2))
    middle = np.array([dot.centre_mm for dot in dots])
    radius = np.array([dot.diameter_mm for dot in dots]) / 2 + BEYOND_MM
    angle = np.arange(CORNERS) * (2 * np.pi / CORNERS)
    ring = np.stack([np.cos(angle), np.sin(angle)], -1)
    outlines = panel.to_photo(middle[:, None] + radius[:, None, None] * ring)
    rgb: NDArray[np.uint8] = photo.rgb.copy()
    for outline, colour in zip(np.round(outlines * 2**PARTS).astype(np.int32), 255 * ground.at(middle), strict=True):
        cv2.fillPoly(rgb, [outline], np.clip(colour, 0, 255).tolist(), cv2.LINE_AA, PARTS)
    return replace(photo, rgb=rgb)
