"""What is on the panel: the drawing as values in panel millimetres. Nothing here knows of pixels."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tests.render.glass import Glass
from tests.render.pieces import Piece

Floats = NDArray[np.float64]
Point = tuple[float, float]
Segment = tuple[Point, Point]
#: Paths are laid as samples this far apart; between them they count as straight (0.0005 mm off on a 10 mm ring).
SAMPLE_MM = 0.2


@dataclass(frozen=True)
class Spoke:
    """One spoke, in one stroke or two. `bow_mm`: Legendre terms 2, 3, 4 of the first stroke, sideways (clockwise)."""

    inner_mm: Point
    outer_mm: Point
    width_mm: float = 1.0
    extension_inner_mm: Point | None = None
    extension_outer_mm: Point | None = None
    bow_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    gaps: tuple[tuple[float, float], ...] = ()
    angle_error_deg: float = 0.0

    def paths(self) -> list[Floats]:
        """One path (n, 2) for each stroke."""
        strokes = [straight(self.inner_mm, self.outer_mm, self.bow_mm)]
        if self.extension_outer_mm is not None:
            half = tuple(b / 2 for b in self.bow_mm)
            strokes.append(straight(self.extension_inner_mm or self.outer_mm, self.extension_outer_mm, half))
        return strokes


@dataclass(frozen=True)
class Ring:
    """One ring. `waves_mm`: (amplitude, phase in degrees) of the harmonics 2, 3, ...; `gaps_deg` clockwise from 12."""

    centre_mm: Point
    radius_mm: float
    width_mm: float = 1.0
    gaps_deg: tuple[tuple[float, float], ...] = ()
    waves_mm: tuple[tuple[float, float], ...] = ()

    def _radius(self, a: Floats) -> Floats:
        waves = enumerate(self.waves_mm, start=2)
        return self.radius_mm + sum((w * np.cos(k * (a - np.radians(p))) for k, (w, p) in waves), np.zeros_like(a))

    def path(self) -> Floats:
        """The whole ring (n, 2), from 12 o'clock clockwise and closed."""
        n = max(48, int(2 * np.pi * self.radius_mm / SAMPLE_MM))
        a = np.linspace(0, 2 * np.pi, n + 1)
        return np.asarray(self.centre_mm) + self._radius(a)[:, None] * np.stack([np.sin(a), -np.cos(a)], -1)

    @property
    def roundness_mm(self) -> float:
        """Largest less smallest radial deviation (ISO 12181)."""
        return float(np.ptp(self._radius(np.linspace(0, 2 * np.pi, 3600, endpoint=False))))


@dataclass(frozen=True)
class Dot:
    """A domed dot of paint.

    `shine`: strength of its highlight, 0 for matt, and `shine_wide` how wide, in radii: broad for metal paint.
    `shadow`: how dark the shadow is that it throws to the lower right. `flat`: a painted circle, no dome. `lamps`: what
    its highlight mirrors, a round lamp, two of them, or a window. `grain`: spread of brightness, as of glitter.
    """

    centre_mm: Point
    diameter_mm: float
    colour: str = "#b01020"
    group: str = "dots"
    index: int = 0
    oversize_mm: float = 0.0
    shine: float = 0.8
    shine_wide: float = 0.12
    shadow: float = 0.0
    flat: bool = False
    lamps: Literal["one", "two", "window"] = "one"
    grain: float = 0.0


@dataclass(frozen=True)
class Petal:
    """A pointed petal: two sides from `base_mm` that meet in `tip_mm`, each bulging by `bulge` of its length."""

    row: int
    spoke: int
    tip_mm: Point
    base_mm: tuple[Point, Point]
    width_mm: float = 0.9
    bulge: float = 0.22
    plan_angle_deg: float = 0.0
    plan_tip_radius_mm: float = 0.0
    short: bool = False
    #: Sides (2 of (n, 2)) of another outline, base to tip, and which runs of them are drawn.
    sides_mm: tuple[Floats, ...] = ()
    drawn_mm: tuple[Floats, ...] = ()

    def paths(self) -> list[Floats]:
        """The two sides, each as a quadratic curve (n, 2) from base to tip; or what is drawn of its own outline."""
        if self.sides_mm:
            return list(self.drawn_mm)
        tip, middle = np.asarray(self.tip_mm), np.mean(self.base_mm, axis=0)
        sides = []
        for base in np.asarray(self.base_mm):
            side = tip - base
            normal = np.array([-side[1], side[0]])
            normal *= np.sign(normal @ (base - middle)) or 1.0
            control = (base + tip) / 2 + 2 * self.bulge * normal
            t = np.linspace(0, 1, max(8, int(np.hypot(*side) / SAMPLE_MM)))[:, None]
            sides.append((1 - t) ** 2 * base + 2 * t * (1 - t) * control + t**2 * tip)
        return sides


@dataclass(frozen=True)
class Drawing:
    """All that is drawn. `ghosts` are wiped lines, seen faintly; `strays` are lines that belong to nothing."""

    centre_mark_mm: Point = (0.0, 0.0)
    segments: int = 0
    rotation_deg: float = 0.0
    ring_pitch_mm: float | None = None
    spokes: tuple[Spoke, ...] = ()
    rings: tuple[Ring, ...] = ()
    centre_cross: tuple[Segment, ...] = ()
    diagonals: tuple[Segment, ...] = ()
    strays: tuple[Segment, ...] = ()
    borders: tuple[Segment, ...] = ()
    ghosts: tuple[Spoke | Ring | Petal, ...] = ()
    petals: tuple[Petal, ...] = ()
    dots: tuple[Dot, ...] = ()
    missing_dots: tuple[Dot, ...] = ()
    #: Painted circles beneath it all, chalk included: they are no dots.
    grounds: tuple[Dot, ...] = ()
    pieces: tuple[Piece, ...] = ()
    glass: tuple[Glass, ...] = ()
    #: What lies over panel and sides by chance, a hand, a cup: no part of the truth.
    things: tuple[Piece, ...] = ()
    colour: str = "#f2f0ea"
    #: Share of the surface that the stroke covers: 1 is solid paint, 0.7 dry chalk on a weave.
    cover: float = 0.85
    grain_mm: float = 0.28
    ragged: float = 0.12
    #: Over this length chalk thins towards both ends of a stroke.
    lift_mm: float = 0.6
    line_mm: float = field(default=0.9)


def straight(start: Point, end: Point, bow_mm: tuple[float, ...] = ()) -> Floats:
    """Samples (n, 2) from `start` to `end`, bowed sideways by Legendre terms 2, 3, ... in mm (clockwise positive)."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    length = float(np.hypot(*(b - a)))
    u = np.linspace(-1, 1, max(2, int(length / SAMPLE_MM) + 1))
    along = (b - a) / max(length, 1e-9)
    # Clockwise across an outward line (sin, -cos) is (cos, sin).
    across = np.array([-along[1], along[0]])
    offset = np.polynomial.legendre.legval(u, [0.0, 0.0, *bow_mm])
    return a + (u[:, None] + 1) / 2 * (b - a) + offset[:, None] * across
