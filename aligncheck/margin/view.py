"""The panel from above as its design is looked for in it: how unlike the bare panel each pixel is."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import fit_ground
from aligncheck.dots.view import bare_image, whitening
from aligncheck.geometry.scaled import Scaled
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps
from aligncheck.photo import Photo

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Finest view, and largest: a 30 cm panel on a phone's photo has about 9 pixels a mm; 6 place an edge to a tenth.
PX_PER_MM, LARGEST_PX = 6.0, 2400
#: Luma and two colour differences of gamma-coded values: phones keep the first sharp and store the others coarsely.
CHANNELS = np.array([[0.299, 0.587, 0.114], [0.5, -0.419, -0.081], [-0.169, -0.331, 0.5]], np.float32)
#: Averages grain and weave, mm; less than half the least dot.
BLUR_MM = 0.18
#: The least spread of the blurred bare panel: half a step of 8-bit codes and what compression leaves.
LEAST_SD = 0.003


@dataclass(frozen=True)
class MarginView(Scaled):
    """The flat view less the bare panel.

    Attributes
    ----------
    away : ndarray (h, w, 3)
        Difference from the bare panel in luma and two colour differences.
    unlike : ndarray (h, w)
        Size of that difference in units of the bare panel's own spread, after a slight blur.
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin lies.
    """

    away: Singles
    unlike: Singles
    px_per_mm: float
    origin_px: tuple[float, float]


def margin_view(photo: Photo, panel: Panel) -> MarginView:
    """Rectify the photo and set every pixel against the bare panel."""
    scale = float(min(PX_PER_MM, LARGEST_PX / max(panel.width_mm, panel.height_mm)))
    width, height = round(panel.width_mm * scale), round(panel.height_mm * scale)
    origin = ((width - 1) / 2, (height - 1) / 2)
    map_x, map_y = flat_maps(panel, scale, (width, height), origin)
    rgb = cv2.remap(photo.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    colours = cv2.transform(rgb.astype(np.float32) * np.float32(1 / 255), CHANNELS)
    small = cv2.resize(colours, (width // 2, height // 2), interpolation=cv2.INTER_AREA)
    ground = fit_ground(np.asarray(small, np.float32), scale / 2, (panel.width_mm / 2, panel.height_mm / 2))
    away = np.asarray(colours - bare_image(ground, (height, width), scale, origin), np.float32)
    soft = np.asarray(cv2.GaussianBlur(away, (0, 0), max(BLUR_MM * scale, 0.5)), np.float32)
    whitened = cv2.transform(soft, whitening(soft, LEAST_SD).astype(np.float32))
    return MarginView(away, np.sqrt(np.einsum("hwc,hwc->hw", whitened, whitened)), scale, origin)
