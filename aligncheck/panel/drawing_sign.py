"""What the drawing on a supposed panel says about the outline: a wheel of spokes and rings near its middle."""

from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.panel.flat import flat_maps
from aligncheck.panel.panel import Panel
from aligncheck.panel.pattern import LinePixels, agreement, line_pixels, stronger
from aligncheck.panel.small import CHANNEL_MATRIX, SmallView

#: Side of the rectified picture, and the rim left out: edges of the outline itself are no drawing.
SIDE_PX, RIM_PX = 320, 10
#: Share of pixels that may be lines.
LINE_SHARE = 0.045
#: How far (mm on a 300 mm panel) from its middle the centre is looked for: painters measure the middle.
REACH = 0.03
#: Borders lie outside this share of the shorter side from the middle.
INNER = 0.36
#: Pixels that suffice to find the centre roughly.
FIRST_LOOK = 1200
#: Agreement from which on it is a wheel: grids and grain reach 0.3 by chance.
CLEAR = 0.5
#: Least pixels for a drawing to be one.
LEAST_PIXELS = 300


class DrawingSign(NamedTuple):
    """`pattern`: best agreement with one centre, 1 for a perfect wheel; `off_mm`: that centre's distance from the
    middle; `elsewhere`: best agreement with a centre further out, of the drawing about it; `pixels`: drawn ones."""

    pattern: float
    off_mm: float
    elsewhere: float
    pixels: int


def drawing_sign(view: SmallView, panel: Panel) -> DrawingSign:
    """Look for a wheel of spokes and rings about the middle of `panel`, in the small view."""
    per_mm = SIDE_PX / max(panel.width_mm, panel.height_mm)
    size = (round(panel.width_mm * per_mm), round(panel.height_mm * per_mm))
    middle = ((size[0] - 1) / 2, (size[1] - 1) / 2)
    map_x, map_y = flat_maps(panel, per_mm, size, middle)
    map_x, map_y = ((m + 0.5) / view.reduction - 0.5 for m in (map_x, map_y))
    codes = cv2.remap(view.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    flat = cv2.transform(np.asarray(codes, np.float32), CHANNEL_MATRIX[:1])
    light, dark = line_pixels(np.asarray(flat, np.float32), LINE_SHARE, RIM_PX)
    origin = complex(*middle)
    reach = REACH * SIDE_PX
    pixels = stronger(light, dark)
    best, centre = _best_centre(pixels, origin, reach)
    if best < CLEAR:
        # A drawing in dark pencil inside a light border, say; or one inside several border lines.
        fainter = dark if pixels is light else light
        inner = [p.taken(np.abs(p.points - origin) < INNER * min(size)) for p in (pixels, fainter)]
        for other in (fainter, *(p for p in inner if len(p) > LEAST_PIXELS)):
            found, place = _best_centre(other, origin, reach)
            if found > max(best, CLEAR):
                best, centre, pixels = found, place, other
    elsewhere = _elsewhere(pixels, origin, reach, size) if best < CLEAR else 0.0
    drawn = int((pixels.weight > 2.0).sum())
    return DrawingSign(best, abs(centre - origin) / per_mm, elsewhere, drawn)


def _best_centre(pixels: LinePixels, origin: complex, reach: float) -> tuple[float, complex]:
    """The best agreement and its centre; all but the last look at some of the pixels only."""
    some = pixels.taken(np.arange(0, len(pixels), max(len(pixels) // FIRST_LOOK, 1)))
    centre, best = origin, -1.0
    for step, used in ((reach / 3, some), (reach / 9, some), (0.5, pixels)):
        places = np.arange(-3, 4) if used is some else np.arange(-2, 3)
        grid = centre + step * (places[:, None] + 1j * places).ravel()
        found = agreement(used, grid)
        k = int(np.argmax(found))
        centre, best = complex(grid[k]), float(found[k])
    return best, centre


def _elsewhere(pixels: LinePixels, origin: complex, reach: float, size: tuple[int, int]) -> float:
    """Best agreement with a centre well away from the middle, of the pixels within a quarter of the side of it."""
    x, y = np.meshgrid(np.arange(0, size[0], 16.0), np.arange(0, size[1], 16.0))
    best = -1.0
    for centre in (x + 1j * y).ravel():
        if abs(centre - origin) < 3 * reach:
            continue
        near = np.abs(pixels.points - centre) < SIDE_PX / 4
        # A wheel has pixels on all sides of its centre; one diagonal's tail has not.
        if near.sum() < LEAST_PIXELS or abs(pixels.points[near].mean() - centre) > SIDE_PX / 20:
            continue
        best = max(best, float(agreement(pixels.taken(near), np.array([centre]))[0]))
    return best
