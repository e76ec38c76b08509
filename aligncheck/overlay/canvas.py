"""The drawing surface: cased lines, filled shapes and text on a picture, smooth at every size.

Lengths are in q, the drawing's own unit; places are in pixels of the picture. Small pictures are drawn several times
larger and averaged down, because a fraction of a pixel is much of a line there. Text is set last, at the true size.
"""

from collections.abc import Sequence
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image, ImageDraw

from aligncheck.overlay import shapes
from aligncheck.overlay.colours import BONE, INK, MOVE, PLAN, RGB
from aligncheck.overlay.lettering import FIGURE_HEIGHT, face

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float64]

#: From this width on the half pixel that OpenCV's smooth edges add is lost in the lines.
WIDE_ENOUGH_PX = 1600
#: Fractional bits of OpenCV's drawing coordinates: a sixteenth of a pixel.
SHIFT = 4


class Pen(NamedTuple):
    """A cased line: core and casing widths in q, their colours; `dash` as (on, off) in q, or solid."""

    core: float
    casing: float
    colour: RGB
    casing_colour: RGB = INK
    dash: tuple[float, float] | None = None


DRAWN_OFF = Pen(2.2, 4.4, MOVE)
SPOKE_PLAN = Pen(1.5, 3.7, PLAN, dash=(5.0, 3.2))
RING_PLAN = Pen(1.5, 3.7, PLAN, dash=(5.0, 3.5))
HOLLOW = Pen(1.4, 3.4, BONE)
#: The thinnest rim that still parts two colours in print.
RIM = 1.1
BEAD = 2.6


class Lettering(NamedTuple):
    """A text to set: `xy` is its middle ("middle") or its left end ("left") at half the height of its figures."""

    xy: tuple[float, float]
    text: str
    size: float
    colour: RGB
    bold: bool = False
    left: bool = False
    outlined: bool = False


class Canvas:
    """A picture being drawn on.

    Parameters
    ----------
    image : ndarray, shape (h, w, 3), uint8
        RGB; a large one is drawn upon itself.
    q : float
        Pixels of one unit of the drawing.
    """

    def __init__(self, image: Bytes, q: float):
        height, width = image.shape[:2]
        self.q = q
        self.size = (width, height)
        self._scale = max(1, -(-WIDE_ENOUGH_PX // width))
        if self._scale == 1:
            self._pixels = image
        else:
            # Repeating pixels and averaging them again gives back exactly what was there.
            self._pixels = np.ascontiguousarray(image.repeat(self._scale, 0).repeat(self._scale, 1))
        self._texts: list[Lettering] = []

    def fill(self, polygons: Sequence[ArrayLike] | Floats, colour: RGB) -> None:
        """Fill closed polygons that do not overlap; one within another is a hole. Alike ones may be one array."""
        if len(polygons):
            alike = isinstance(polygons, np.ndarray)
            fixed = self._fixed(np.asarray(polygons, float)) if alike else map(self._fixed, polygons)
            cv2.fillPoly(self._pixels, list(fixed), colour, cv2.LINE_AA, SHIFT)

    def tint(self, polygons: Sequence[ArrayLike], colour: RGB, share: float) -> None:
        """Fill as `fill` does, but so thin that what lies beneath is still seen: `share` of the new colour."""
        outer = np.vstack([np.asarray(p, float) for p in polygons])
        low = np.floor((outer.min(0) + 0.5) * self._scale).astype(int) - 1
        high = np.ceil((outer.max(0) + 0.5) * self._scale).astype(int) + 2
        (x0, y0), (y1, x1) = np.maximum(low, 0), np.minimum(high[::-1], self._pixels.shape[:2])
        piece = self._pixels[y0:y1, x0:x1]
        if not piece.size:
            return
        mask = np.zeros(piece.shape[:2], np.uint8)
        shift = np.array([x0, y0]) << SHIFT
        cv2.fillPoly(mask, [self._fixed(p) - shift for p in polygons], 255, cv2.LINE_AA, SHIFT)
        layer = np.full(piece.shape, colour, np.uint8)
        blended = cv2.addWeighted(piece, 1 - share, layer, share, 0)
        cv2.copyTo(np.asarray(blended, np.uint8), mask, piece)

    def stroke(self, path: ArrayLike, width: float, colour: RGB, closed: bool = False) -> None:
        """Draw a line of `width` q with round ends and joins."""
        thickness = max(1, round(width * self.q * self._scale))
        cv2.polylines(self._pixels, [self._fixed(path)], closed, colour, thickness, cv2.LINE_AA, SHIFT)

    def line(self, path: ArrayLike, pen: Pen, closed: bool = False) -> None:
        """Draw a cased line along `path`, solid or dashed as the pen says."""
        if pen.dash is None:
            self.stroke(path, pen.casing, pen.casing_colour, closed)
            self.stroke(path, pen.core, pen.colour, closed)
            return
        p = np.asarray(path, float)
        p = np.vstack([p, p[:1]]) if closed else p
        on, off = (value * self.q for value in pen.dash)
        rim = (pen.casing - pen.core) / 2 * self.q
        self.fill(shapes.dashes(p, on, off, pen.casing * self.q, rim), pen.casing_colour)
        self.fill(shapes.dashes(p, on, off, pen.core * self.q), pen.colour)

    def bead(self, centre: ArrayLike, radius: float = BEAD, colour: RGB = BONE, rim: RGB = INK) -> None:
        """A filled dot of `radius` q with a rim."""
        self.fill([shapes.circle(centre, (radius + RIM) * self.q)], rim)
        self.fill([shapes.circle(centre, radius * self.q)], colour)

    def solid(self, polygon: ArrayLike, colour: RGB, rim: float, rim_colour: RGB = INK) -> None:
        """A filled shape with a rim of `rim` q around it."""
        self.stroke(polygon, 2 * rim, rim_colour, closed=True)
        self.fill([polygon], colour)

    def text(self, lettering: Lettering) -> None:
        """Set a text when all else is drawn; `size` in q."""
        self._texts.append(lettering)

    def finish(self) -> Bytes:
        """The finished picture, at the size of the one given."""
        pixels = self._pixels
        if self._scale > 1:
            pixels = np.asarray(cv2.resize(pixels, self.size, interpolation=cv2.INTER_AREA), np.uint8)
        for one in self._texts:
            self._set(pixels, one)
        return pixels

    def _set(self, pixels: Bytes, one: Lettering) -> None:
        """Set one text, on its own piece of the picture only: copying all of it into Pillow and back costs more."""
        font = face(one.size * self.q, one.bold)
        outline = max(1.0, 1.6 * self.q) if one.outlined else 0.0
        x, y = one.xy[0], one.xy[1] + FIGURE_HEIGHT / 2 * one.size * self.q
        anchor = "ls" if one.left else "ms"
        left, top, right, bottom = font.getbbox(one.text, anchor=anchor, stroke_width=outline)
        x0, y0 = max(int(x + left) - 2, 0), max(int(y + top) - 2, 0)
        piece = pixels[y0 : int(y + bottom) + 3, x0 : int(x + right) + 3]
        if not piece.size:
            return
        picture = Image.fromarray(piece)
        pen = ImageDraw.Draw(picture)
        place = (x - x0, y - y0)
        pen.text(place, one.text, one.colour, font, anchor, stroke_width=outline, stroke_fill=INK)
        piece[:] = np.asarray(picture)

    def _fixed(self, points: ArrayLike) -> NDArray[np.int32]:
        """Pixels of the picture to OpenCV's fixed-point coordinates on the surface."""
        surface = (np.asarray(points, float) + 0.5) * self._scale - 0.5
        return np.round(surface * (1 << SHIFT)).astype(np.int32)
