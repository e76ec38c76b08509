"""The two grounds that are drawn upon: the photo cut to the panel with its table darkened, and the flat view."""

from typing import NamedTuple

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
#: Left, top, right and bottom of a part of a picture, whole pixels; the last two lie just outside.
Box = tuple[int, int, int, int]

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

    def view(self, width: int, top: int = 0) -> View:
        """Where things lie in a picture of this width with `top` rows above the ground."""
        panel, cut = self._panel, self._cut(width)
        corner = np.array(cut.box[:2], float)
        scales = (np.array(cut.box[2:]) - corner) / (cut.end - cut.first)

        def to_px(points_mm: ArrayLike) -> Floats:
            # Pixel centres are whole numbers on both sides: hence the halves.
            return (panel.to_photo(points_mm) - cut.first + 0.5) * scales - 0.5 + corner + (0, top)

        frame = (0.0, float(top), float(width), float(top + self.height_px(width)))
        q = self.style.unit_px(width)
        return View(to_px, panel.width_mm, panel.height_mm, panel.corners_mm, q, frame, self.style, on_photo=True)

    def page(self, width: int, top: int = 0, below: int = 0) -> Bytes:
        """The ground at this width, `top` and `below` so many rows of the style's colour."""
        page, ground = _page(width, (top, self.height_px(width), below), self.style)
        cut = self._cut(width)
        shown = self._photo.rgb[cut.first[1] : cut.end[1], cut.first[0] : cut.end[0]]
        _lay(shown, ground, cut.box, INK)
        _darken_outside(ground, self.view(width).outline_px)
        return page

    def _cut(self, width: int) -> "Cut":
        """What the picture of this width shows of the photo, and where."""
        height, (q, scale, gutters) = self.height_px(width), self._measures(width)
        first = np.floor(self._least - np.array(gutters) * q / scale).astype(int)
        size = np.ceil(np.array([width, height]) / scale).astype(int)
        return _cut(self._photo.rgb.shape[1::-1], first, size, (width, height))


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

    def _box(self, width: int) -> Box:
        """Where the panel lies in the ground."""
        across, down = self._panel_size(width)
        left, above = (width - across) // 2, (self.height_px(width) - down) // 2
        return left, above, left + across, above + down

    def view(self, width: int, top: int = 0) -> View:
        """Where things lie in a picture of this width with `top` rows above the ground."""
        left, above, right, end = self._box(width)
        middle = np.array([(left + right - 1) / 2, top + (above + end - 1) / 2])
        scale = (right - left) / self._panel.width_mm

        def to_px(points_mm: ArrayLike) -> Floats:
            return np.asarray(points_mm, float) * scale + middle

        frame = (0.0, float(top), float(width), float(top + self.height_px(width)))
        size, q = (self._panel.width_mm, self._panel.height_mm), self.style.unit_px(width)
        return View(to_px, *size, nominal_corners(*size), q, frame, self.style, on_photo=False)

    def page(self, width: int, top: int = 0, below: int = 0) -> Bytes:
        """The ground at this width, `top` and `below` so many rows of the style's colour."""
        page, ground = _page(width, (top, self.height_px(width), below), self.style)
        _lay(self._flat.image, ground, self._box(width), self.style.theme.ground)
        return page


Ground = PhotoGround | FlatGround


def _page(width: int, rows: tuple[int, int, int], style: Style) -> tuple[Bytes, Bytes]:
    """A page with `rows` above, for and below a ground: all of it, filled above and below, and the ground's part."""
    top, high, below = rows
    # One array for all: each copy of a large picture costs as much as everything that is drawn upon it.
    page = np.empty((top + high + below, width, 3), np.uint8)
    _fill_around(page, (0, top, width, top + high), style.theme.ground)
    return page, page[top : top + high]


def _fill_around(picture: Bytes, box: Box, colour: RGB) -> None:
    """Fill what lies outside a box."""
    left, top, right, bottom = box
    height, width = picture.shape[:2]
    for x0, y0, x1, y1 in (
        (0, 0, width, top),
        (0, bottom, width, height),
        (0, top, left, bottom),
        (right, top, width, bottom),
    ):
        if x1 > x0 and y1 > y0:
            cv2.rectangle(picture, (x0, y0), (x1 - 1, y1 - 1), colour, cv2.FILLED)


def _lay(image: Bytes, picture: Bytes, box: Box, colour: RGB) -> None:
    """Resize an image into a box of the picture, with `colour` around it.

    Areas are averaged only where much is lost, for it costs five times as much.
    """
    left, top, right, bottom = box
    method = cv2.INTER_AREA if right - left < AVERAGED_BELOW * image.shape[1] else cv2.INTER_LINEAR
    cv2.resize(image, (right - left, bottom - top), picture[top:bottom, left:right], interpolation=method)
    _fill_around(picture, box, colour)


class Cut(NamedTuple):
    """A part of the photo, from its first pixel (x, y) to its end, and the box of the picture that it fills."""

    first: NDArray[np.int_]
    end: NDArray[np.int_]
    box: Box


def _cut(photo_size: tuple[int, int], first: NDArray[np.int_], size: NDArray[np.int_], wanted: tuple[int, int]) -> Cut:
    """Of `size` (w, h) pixels from `first` (x, y), shown in `wanted` (w, h), those that the photo holds.

    Only these are resized, to whole pixels, and ink stands for the others.
    """
    low = np.clip(first, 0, np.array(photo_size) - 1)
    high = np.clip(first + size, low + 1, photo_size)
    left, top = np.round((low - first) * wanted / size).astype(int)
    right, bottom = np.round((high - first) * wanted / size).astype(int)
    return Cut(low, high, (int(left), int(top), int(right), int(bottom)))


def _darken_outside(image: Bytes, outline_px: Floats) -> None:
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
