"""Painted dots seen straight from above, drawn with all that can be amiss with them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import cv2
import numpy as np

from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks, Spoke
from aligncheck.panel import Panel
from aligncheck.photo import Photo

SIDE_MM, PX_PER_MM, MARGIN_PX, FINE = 240.0, 7.0, 60, 2
CENTRE = np.array([1.5, -2.0])

Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Kind:
    """Dots of one kind: how far out, degrees off the spoke, diameter, colour; sizes and colours of dots on top."""

    radius_mm: float
    off_deg: float
    diameter_mm: float
    colour: Colour
    tops: tuple[tuple[float, Colour], ...] = ()


@dataclass
class Painting:
    """What is painted; faults by (kind, segment): moved by (clockwise, outward) mm, repainted, gone, run together."""

    kinds: Sequence[Kind]
    order: int = 12
    ground: Colour = (40, 40, 44)
    moved: dict[tuple[int, int], tuple[float, float]] = field(default_factory=dict)
    repainted: dict[tuple[int, int], Colour] = field(default_factory=dict)
    gone: set[tuple[int, int]] = field(default_factory=set)
    #: Dots on top that were left out: kind, segment, and which of them from below.
    no_top: set[tuple[int, int, int]] = field(default_factory=set)
    joined: set[tuple[int, int, int]] = field(default_factory=set)
    #: Painted circles beneath the dots about the centre, the largest first: radius, mm, and colour.
    circles: Sequence[tuple[float, Colour]] = ()
    hand_mm: float = 0.15
    seed: int = 1
    #: Linear light as a function of x and y from -1 to 1: factor and veil.
    light: Callable[[Any, Any], tuple[Any, Any]] | None = None

    def centre_mm(self, kind: int, segment: int) -> np.ndarray:
        """Where a dot was meant to be, from the layout's centre, faults included."""
        one = self.kinds[kind]
        a = np.radians(one.off_deg + 360 / self.order * segment)
        out, across = np.array([np.sin(a), -np.cos(a)]), np.array([np.cos(a), np.sin(a)])
        clockwise, outward = self.moved.get((kind, segment), (0.0, 0.0))
        return (one.radius_mm + outward) * out + clockwise * across

    def draw(self) -> tuple[Photo, Marks]:
        """Photograph it; twelve or so chalk spokes are the marks."""
        rng = np.random.default_rng(self.seed)
        n = round(SIDE_MM * PX_PER_MM) * FINE
        big = np.full((n, n, 3), self.ground, np.uint8)
        for radius, colour in self.circles:
            _disc(big, np.zeros(2), 2 * radius, colour)
        for kind, one in enumerate(self.kinds):
            for k in range(self.order):
                if (kind, k) in self.gone:
                    continue
                colour = self.repainted.get((kind, k), one.colour)
                at = self.centre_mm(kind, k) + rng.normal(0, self.hand_mm, 2)
                size = one.diameter_mm * rng.normal(1, 0.02)
                _disc(big, at, size, colour)
                _disc(big, at - 0.15 * size, 0.2 * size, tuple(min(255, c + 50) for c in colour))
                for level, (across, paint) in enumerate(one.tops):
                    if (kind, k, level) not in self.no_top:
                        _disc(big, at + rng.normal(0, 0.1, 2), across, paint)
        for one, other, k in self.joined:
            ends = [(self.centre_mm(kind, k) + CENTRE + SIDE_MM / 2) * PX_PER_MM * FINE for kind in (one, other)]
            wide = min(self.kinds[kind].diameter_mm for kind in (one, other)) * PX_PER_MM * FINE
            cv2.line(big, *(_fixed(p) for p in ends), self.kinds[one].colour, round(wide), cv2.LINE_AA, 4)
        image = cv2.resize(big, (n // FINE, n // FINE), interpolation=cv2.INTER_AREA).astype(np.float32)
        if self.light is not None:
            y, x = np.mgrid[-1 : 1 : n // FINE * 1j, -1 : 1 : n // FINE * 1j]
            factor, veil = (np.asarray(v, np.float32)[..., None] for v in np.broadcast_arrays(*self.light(x, y)))
            image = 255 * np.clip((image / 255) ** 2.2 * factor + veil, 0, 1) ** (1 / 2.2)
        framed = cv2.copyMakeBorder(image, *[MARGIN_PX] * 4, cv2.BORDER_CONSTANT, value=(128, 128, 128))
        noisy = cv2.GaussianBlur(framed, (0, 0), 0.7) + rng.normal(0, 2.0, framed.shape)
        return Photo(np.clip(noisy, 0, 255).astype(np.uint8)), self._marks(len(framed))

    def _marks(self, size_px: int) -> Marks:
        corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * SIDE_MM * PX_PER_MM + MARGIN_PX - 0.5
        panel = Panel.from_corners(
            SIDE_MM, SIDE_MM, Lens(2500.0, size_px / 2, size_px / 2, 0.0, 0.0, "profile"), corners
        )
        spokes = []
        for k in range(self.order):
            way = np.array([np.sin(2 * np.pi * k / self.order), -np.cos(2 * np.pi * k / self.order)])
            spokes.append(Spoke(CENTRE + 10 * way, CENTRE + 95 * way, 1e-4 * np.eye(2), 1.0, (0.1, 0.1), place=k))
        return Marks(panel, Centre(CENTRE, 1e-4 * np.eye(2), "mark"), None, self.order, tuple(spokes), ())


def _disc(big: np.ndarray, at_mm: np.ndarray, diameter_mm: float, colour: Any) -> None:
    p = (at_mm + CENTRE + SIDE_MM / 2) * PX_PER_MM * FINE
    cv2.circle(big, _fixed(p), round(diameter_mm / 2 * PX_PER_MM * FINE * 16), colour, -1, cv2.LINE_AA, 4)


def _fixed(p: np.ndarray) -> tuple[int, int]:
    return round(float(p[0]) * 16), round(float(p[1]) * 16)


RED, GOLD, BLUE, WHITE, PLUM = (200, 55, 60), (230, 190, 60), (60, 140, 185), (222, 218, 205), (95, 60, 125)


def walked(
    start_mm: float = 30.0, size_mm: float = 8.0, step: float = 0.8, dots: int = 5, gap_mm: float = 0.9
) -> list[Kind]:
    """A walked run outward along the spoke, red and gold in turn."""
    kinds, radius, size = [], start_mm, size_mm
    for k in range(dots):
        kinds.append(Kind(radius, 0.0, size, (RED, GOLD)[k % 2]))
        radius += (size + step * size) / 2 + gap_mm
        size *= step
    return kinds


#: A run on each spoke, pairs of dots to both sides of it, and a ring halfway.
PIECE = [*walked(), Kind(38.0, 9.0, 3.0, BLUE), Kind(38.0, -9.0, 3.0, BLUE), Kind(74.0, 15.0, 6.0, WHITE)]
