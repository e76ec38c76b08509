"""The two grounds that are drawn upon: the photo cut to the panel with its table darkened, and the flat view."""

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.overlay.canvas import SHIFT, Bytes
from aligncheck.overlay.colours import INK, OUTSIDE_LEFT, RGB
from aligncheck.overlay.view import GUTTER_SIDES, Style, View, gutters_q, outline_mm
from aligncheck.panel import Panel
from aligncheck.panel.flat import FlatView
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Scale from which linear interpolation still sees every pixel.
AVERAGED_BELOW = 0.6
#: Rows that are darkened at a time: so few that a tilted side crosses few columns, so many that calls cost little.
STRIP = 64
ANY_ROOM = (float("inf"), float("inf"))


class PhotoGround:
    """The photo as taken, cut to the panel and its gutter; where the photo ends sooner, ink takes its place.

    `room_mm`: between the edges (sides; above and below) and the nearest end of a spoke that gets an arrow.
    """

    def __init__(self, photo: Photo, panel: Panel, style: Style, room_mm: tuple[float, float] = ANY_ROOM):
        self._photo, self._panel, self.style, self._room_mm = photo, panel, style, room_mm
        outline = panel.to_photo(outline_mm(panel.corners_mm))
        self._least, self._most = outline.min(0), outline.max(0)

    @property
    def native_width_px(self) -> float:
        """Width of a picture that shows the panel at the photo's own scale."""
        return float(self._most[0] - self._least[0]) * 1.3

    def height_px(self, width: int) -> int:
        """Height of the picture at this width."""
        q, scale, (_, ends) = self._measures(width)
        return round((self._most[1] - self._least[1]) * scale + 2 * ends * q)

    def _measures(self, width: int) -> tuple[float, float, tuple[float, float]]:
        """The unit, the scale from the photo, and the gutters in q, at this width."""
        q = self.style.unit_px(width)
        across, finest = float(self._most[0] - self._least[0]), float(self._panel.px_per_mm())
        gutters = gutters_q(self._room_mm, finest * (width - 2 * GUTTER_SIDES * q) / across, q)
        return q, (width - 2 * gutters[0] * q) / across, gutters

    def render(self, width: int, top: int) -> tuple[Bytes, View]:
        """Draw the ground at `width`; the view counts its rows from `top`."""
        height, (q, scale, gutters) = self.height_px(width), self._measures(width)
        first = np.floor(self._least - np.array(gutters) * q / scale).astype(int)
        size = np.ceil(np.array([width, height]) / scale).astype(int)
        image, start, scales, corner = _cut(self._photo.rgb, first, size, (width, height))

        def to_px(points_mm: ArrayLike) -> Floats:
            # Pixel centres are whole numbers on both sides: hence the halves.
            return (self._panel.to_photo(points_mm) - start + 0.5) * scales - 0.5 + corner + (0, top)

        panel = self._panel
        frame = (0.0, float(top), float(width), float(top + height))
        view = View(to_px, panel.width_mm, panel.height_mm, panel.corners_mm, q, frame, self.style, on_photo=True)
        return _darken_outside(image, view.outline_px - (0, top)), view


class FlatGround:
    """The flat view on the ground colour; the table outside is not shown, for it would be wrong there.

    `room_mm`: between the edges (sides; above and below) and the nearest end of a spoke that gets an arrow.
    """

    def __init__(self, flat: FlatView, panel: Panel, style: Style, room_mm: tuple[float, float] = ANY_ROOM):
        self._flat, self._panel, self.style, self._room_mm = flat, panel, style, room_mm

    @property
    def native_width_px(self) -> float:
        """Width of a picture that shows the flat view at its own scale."""
        return self._flat.image.shape[1] * 1.3

    def _gutters(self, width: int) -> tuple[float, float]:
        """The gutters in px, at the sides and above and below."""
        q = self.style.unit_px(width)
        sides, ends = gutters_q(self._room_mm, (width - 2 * GUTTER_SIDES * q) / self._panel.width_mm, q)
        return sides * q, ends * q

    def _panel_size(self, width: int) -> tuple[int, int]:
        """Width and height of the panel's own pixels at this width of the picture."""
        across = round(width - 2 * self._gutters(width)[0])
        return across, round(across * self._panel.height_mm / self._panel.width_mm)

    def height_px(self, width: int) -> int:
        """Height of the picture at this width."""
        return round(self._panel_size(width)[1] + 2 * self._gutters(width)[1])

    def render(self, width: int, top: int) -> tuple[Bytes, View]:
        """Draw the ground at `width`; the view counts its rows from `top`."""
        height, q = self.height_px(width), self.style.unit_px(width)
        across, down = self._panel_size(width)
        left, above = (width - across) // 2, (height - down) // 2
        room = (above, height - above - down, left, width - left - across)
        image = framed(_resized(self._flat.image, across, down), room, self.style.theme.ground)
        middle = np.array([left + (across - 1) / 2, top + above + (down - 1) / 2])
        scale = across / self._panel.width_mm

        def to_px(points_mm: ArrayLike) -> Floats:
            return np.asarray(points_mm, float) * scale + middle

        frame = (0.0, float(top), float(width), float(top + height))
        size = self._panel.width_mm, self._panel.height_mm
        return image, View(to_px, *size, nominal_corners(*size), q, frame, self.style, on_photo=False)


Ground = PhotoGround | FlatGround


def framed(image: Bytes, room: tuple[int, int, int, int], colour: RGB) -> Bytes:
    """A picture with `room` of one colour above, below, to the left and to the right of it, px."""
    return np.asarray(cv2.copyMakeBorder(image, *room, cv2.BORDER_CONSTANT, value=colour), np.uint8)


def _resized(image: Bytes, width: int, height: int) -> Bytes:
    """Resize; areas are averaged only where much is lost, for it costs five times as much."""
    method = cv2.INTER_AREA if width < AVERAGED_BELOW * image.shape[1] else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(image, (width, height), interpolation=method), np.uint8)


def _cut(
    pixels: Bytes, first: NDArray[np.int_], size: NDArray[np.int_], wanted: tuple[int, int]
) -> tuple[Bytes, Floats, Floats, Floats]:
    """Cut `size` (w, h) pixels from `first` (x, y), brought to `wanted` (w, h), ink beyond the picture's edges.

    Only what the picture holds is resized, to whole pixels: hence its first pixel, its own scales and the corner where
    it lies, each (2,), from the pixels there are.
    """
    low = np.clip(first, 0, np.array(pixels.shape[1::-1]) - 1)
    high = np.clip(first + size, low + 1, pixels.shape[1::-1])
    left, top = np.round((low - first) * wanted / size).astype(int)
    right, bottom = np.round((high - first) * wanted / size).astype(int)
    inside = _resized(pixels[low[1] : high[1], low[0] : high[0]], right - left, bottom - top)
    scales, corner = np.array([right - left, bottom - top]) / (high - low), np.array([left, top], float)
    if inside.shape[1::-1] == wanted:
        return inside, low.astype(float), scales, corner
    room = (int(top), int(wanted[1] - bottom), int(left), int(wanted[0] - right))
    return framed(inside, room, INK), low.astype(float), scales, corner


def _darken_outside(image: Bytes, outline_px: Floats) -> Bytes:
    """Lay ink over all but the panel, in place."""
    table = np.round(OUTSIDE_LEFT * np.arange(256)[:, None] + (1 - OUTSIDE_LEFT) * np.array(INK)).astype(np.uint8)
    inside = np.zeros(image.shape[:2], np.uint8)
    cv2.fillPoly(inside, [np.round(outline_px * (1 << SHIFT)).astype(np.int32)], 255, cv2.LINE_8, SHIFT)
    for top in range(0, len(image), STRIP):
        rows = slice(top, top + STRIP)
        # The panel is convex: what is inside in the outer rows is so in all, one run of columns that stays as it is.
        whole = np.flatnonzero(inside[rows][0] & inside[rows][-1])
        first, end = (whole[0], whole[-1] + 1) if len(whole) else (image.shape[1], image.shape[1])
        for columns in (slice(0, first), slice(end, None)):
            part = image[rows, columns]
            if part.size:
                dark = cv2.LUT(part, table[:, None])
                cv2.copyTo(part, inside[rows, columns], dark)
                part[:] = dark
    return image
