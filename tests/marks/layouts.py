"""Whole layouts drawn on a flat panel and photographed from above, for the tests of detection, rings and centre."""

from dataclasses import dataclass, field

import cv2
import numpy as np

from aligncheck.geometry.angles import outward
from aligncheck.lens import Lens
from aligncheck.panel import Panel
from aligncheck.photo import Photo

PX_PER_MM = 5.0
#: Subpixel bits of OpenCV's drawing.
SHIFT = 6


@dataclass(frozen=True)
class DrawnRing:
    """A circle of chalk: waves are (order, cosine, sine) in mm, gaps in degrees."""

    radius_mm: float
    centre_mm: tuple[float, float] = (0.0, 0.0)
    strength: float = 1.0
    gaps_deg: tuple[tuple[float, float], ...] = ()
    waves: tuple[tuple[int, float, float], ...] = ()

    def points(self) -> np.ndarray:
        """Points (n, 2) along the ring, a quarter degree apart."""
        t = np.arange(0, 360.25, 0.25)
        r = np.full(len(t), self.radius_mm)
        for order, c, s in self.waves:
            r += c * np.cos(order * np.radians(t)) + s * np.sin(order * np.radians(t))
        return np.asarray(self.centre_mm) + r[:, None] * outward(t)

    def kept(self) -> np.ndarray:
        """Which of the points carry chalk."""
        t = np.arange(0, 360.25, 0.25)
        keep = np.ones(len(t), bool)
        for start, end in self.gaps_deg:
            keep &= (t < start) | (t > end)
        return keep


@dataclass(frozen=True)
class DrawnLayout:
    """Spokes at even bearings from `phase_deg`, rings, and other straight strokes (start, end, strength)."""

    segments: int
    size_mm: float = 300.0
    centre_mm: tuple[float, float] = (0.0, 0.0)
    phase_deg: float = 5.0
    reach_mm: float = 110.0
    inner_mm: float = 8.0
    width_mm: float = 1.0
    rings: tuple[DrawnRing, ...] = ()
    lines: tuple[tuple[tuple[float, float], tuple[float, float], float], ...] = ()
    errors_deg: tuple[float, ...] = ()
    light: bool = True
    seed: int = 1
    skip: frozenset[int] = field(default_factory=frozenset)
    #: Reaches in turn, as parts of `reach_mm`.
    lengths: tuple[float, ...] = (1.0,)

    def reach_of(self, k: int) -> float:
        """Distance from the centre at which spoke `k` ends."""
        return self.reach_mm * self.lengths[k % len(self.lengths)]


def photograph(layout: DrawnLayout) -> tuple[Photo, Panel]:
    """The photo and its exact panel, on a table of another shade."""
    rng = np.random.default_rng(layout.seed)
    n = round(layout.size_mm * PX_PER_MM)
    chalk = np.zeros((n, n), np.uint8)
    for k in range(layout.segments):
        if k in layout.skip:
            continue
        error = layout.errors_deg[k % len(layout.errors_deg)] if layout.errors_deg else 0.0
        u = outward(layout.phase_deg + 360 / layout.segments * k + error)
        c = np.asarray(layout.centre_mm)
        _draw(chalk, layout, np.array([c + layout.inner_mm * u, c + layout.reach_of(k) * u]), 1.0)
    for ring in layout.rings:
        points, keep = ring.points(), ring.kept()
        for piece in np.split(np.arange(len(points)), np.nonzero(np.diff(keep.astype(int)))[0] + 1):
            if keep[piece[0]] and len(piece) > 1:
                _draw(chalk, layout, points[piece], ring.strength)
    for start, end, strength in layout.lines:
        _draw(chalk, layout, np.array([start, end]), strength)
    grain = cv2.GaussianBlur(rng.normal(size=(n, n)).astype(np.float32), (0, 0), 0.8)
    covered = chalk / 255.0 * (grain < np.quantile(grain[::5, ::5], 0.8))
    ground = 60 + cv2.GaussianBlur(rng.normal(size=(n, n)).astype(np.float32), (0, 0), 1.5) * 8
    face = cv2.GaussianBlur((ground + 150 * covered).astype(np.float32), (0, 0), 0.8) + rng.normal(size=(n, n)) * 2
    face = face if layout.light else 255 - face
    edge = 60
    picture = np.full((n + 2 * edge, n + 2 * edge), 140.0)
    picture[edge : edge + n, edge : edge + n] = face
    grey = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    low, high = edge - 0.5, edge + n - 0.5
    lens = Lens(1.3 * n, n / 2 + edge, n / 2 + edge)
    panel = Panel.from_corners(
        layout.size_mm, layout.size_mm, lens, [[low, low], [high, low], [high, high], [low, high]]
    )
    return Photo(np.repeat(grey[..., None], 3, axis=2)), panel


def _draw(chalk: np.ndarray, layout: DrawnLayout, points_mm: np.ndarray, strength: float) -> None:
    at = (points_mm + layout.size_mm / 2) * PX_PER_MM - 0.5
    one = np.zeros_like(chalk)
    fixed = np.rint(at * 2**SHIFT).astype(np.int32).reshape(-1, 1, 2)
    thick = max(1, round(layout.width_mm * PX_PER_MM))
    cv2.polylines(one, [fixed], False, 255 * strength, thick, cv2.LINE_AA, SHIFT)
    np.maximum(chalk, one, out=chalk)


def even_rings(count: int, pitch_mm: float, **more) -> tuple[DrawnRing, ...]:
    """`count` rings, `pitch_mm` apart."""
    return tuple(DrawnRing(pitch_mm * (k + 1), **more) for k in range(count))


def wiped(segments: int, turn_deg: float, strength: float = 0.35, reach_mm: float = 105.0):
    """Faint spokes of an earlier layout, as lines of a DrawnLayout."""
    return tuple(
        (
            tuple(10 * outward(turn_deg + 360 / segments * k)),
            tuple(reach_mm * outward(turn_deg + 360 / segments * k)),
            strength,
        )
        for k in range(segments)
    )
