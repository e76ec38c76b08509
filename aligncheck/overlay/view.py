"""Where things lie in a picture: the panel's millimetres to the picture's pixels, and the frame that is left for it."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.angles import outward
from aligncheck.overlay import shapes
from aligncheck.overlay.colours import DARK, LIGHT, Theme

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]

#: Room around the panel for numbers and plates, in q.
GUTTER_SIDES, GUTTER_ENDS = 44.0, 26.0


class Style(NamedTuple):
    """How much is drawn, on what, and how large.

    `full`: for print. The plan of every spoke, the whole of each drawn spoke that is off, and each figure's ±.
    `growth`: how text and lines grow with the picture: 0 stays the same, 1 grows with it.
    """

    theme: Theme
    full: bool = False
    growth: float = 0.75

    def unit_px(self, width_px: float) -> float:
        """Pixels of one q: 1 at 390 px, the width of a phone."""
        return float((width_px / 390.0) ** self.growth)


#: A large picture for the screen is mostly seen on a phone, shrunk to its width: there text must grow more with it
#: than on paper, where at 20 cm and 2400 px it comes out at 12 pt.
SCREEN = Style(DARK, growth=0.9)
#: For a page that shows the picture as wide as the phone, in as many pixels as its screen has.
PHONE = Style(DARK, growth=1.0)
PRINT = Style(LIGHT, full=True)


#: In q: what an arrow on its lane and a plate of two lines need beyond the end of a spoke.
ARROW_AND_PLATE = 50.0
#: The sides grow less, so that on a phone the panel keeps three quarters of the width.
WIDEST_SIDES = 48.0


def gutters_q(room_mm: tuple[float, float], px_per_mm: float, q: float) -> tuple[float, float]:
    """Gutter at the sides and above and below, in q: more where spokes with arrows end close to the panel's edge.

    `room_mm`: from the nearest such end to the edges at the sides, and to those above and below.
    """
    sides, ends = (ARROW_AND_PLATE - max(room, 0.0) * px_per_mm / q for room in room_mm)
    return min(max(GUTTER_SIDES, sides), WIDEST_SIDES), max(GUTTER_ENDS, ends)


class View(NamedTuple):
    """One picture's map from the panel, with its unit and its frame.

    Attributes
    ----------
    to_px : callable
        Panel mm (..., 2) to pixels (..., 2) of the picture.
    corners_mm : ndarray (4, 2)
        Of what shows of the panel, from the top left one clockwise: on a photo where it was cut.
    frame : (left, top, right, bottom)
        The part of the picture that the panel and its gutter take.
    on_photo : bool
        Whether the table is seen around the panel.
    """

    to_px: Callable[[ArrayLike], Floats]
    width_mm: float
    height_mm: float
    corners_mm: Floats
    q: float
    frame: Box
    style: Style
    on_photo: bool

    @property
    def outline_px(self) -> Floats:
        """The panel's outline (n, 2) in the picture."""
        return self.to_px(outline_mm(self.corners_mm))

    @property
    def px_per_mm(self) -> float:
        """Mean scale at the panel's middle."""
        x0, x1, y0, y1 = self.to_px([[-0.5, 0.0], [0.5, 0.0], [0.0, -0.5], [0.0, 0.5]])
        ex, ey = x1 - x0, y1 - y0
        return float(np.sqrt(abs(ex[0] * ey[1] - ex[1] * ey[0])))

    def outward_px(self, point_mm: ArrayLike, angle_deg: ArrayLike) -> Floats:
        """Unit vectors (..., 2) in the picture that point outward along `angle_deg` (...) at panel points (..., 2)."""
        p = np.asarray(point_mm, float)
        return shapes.unit(self.to_px(p + outward(angle_deg)) - self.to_px(p))

    def mm(self, length_q: float) -> float:
        """A length in q as panel mm, at the middle of the panel."""
        return length_q * self.q / self.px_per_mm


def outline_mm(corners_mm: Floats, points_per_side: int = 16) -> Floats:
    """The outline (n, 2) between four corners, with points along its sides, so that a bent side can be drawn."""
    steps = np.arange(points_per_side) / points_per_side
    sides = [a + steps[:, None] * (b - a) for a, b in zip(corners_mm, np.roll(corners_mm, -1, axis=0), strict=True)]
    return np.vstack(sides)


def to_edge(origin_mm: ArrayLike, angle_deg: ArrayLike, width_mm: float, height_mm: float) -> Floats:
    """Where rays from a point (2,) on the panel along `angle_deg` (...) leave the panel, (..., 2)."""
    origin, way = np.asarray(origin_mm, float), outward(angle_deg)
    half = np.array([width_mm / 2, height_mm / 2])
    with np.errstate(divide="ignore", invalid="ignore"):
        steps = np.where(np.abs(way) > 1e-12, (np.sign(way) * half - origin) / way, np.inf)
    return np.asarray(origin + way * np.maximum(steps.min(axis=-1, keepdims=True), 0.0), float)
