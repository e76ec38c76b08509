"""Strokes of chalk drawn on a flat panel, photographed from straight above: what the marks' tests measure."""

from dataclasses import dataclass

import cv2
import numpy as np

from aligncheck.geometry.angles import bearing, clockwise, outward
from aligncheck.lens import Lens
from aligncheck.marks.detection import Detection
from aligncheck.marks.marks import Line
from aligncheck.panel import Panel
from aligncheck.photo import Photo

#: Part of a stroke that the chalk covers, and the size of its grain, mm.
COVER, GRAIN_MM = 0.75, 0.25


@dataclass(frozen=True)
class Stroke:
    """Chalk along the straight line from `start_mm` to `end_mm`, bowed by Legendre terms 2, 3, .. in mm."""

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    width_mm: float = 1.0
    bows_mm: tuple[float, ...] = ()
    strength: float = 1.0
    gaps_mm: tuple[tuple[float, float], ...] = ()


def spoke_stroke(angle_deg, inner_mm, outer_mm, centre_mm=(0.0, 0.0), miss_mm=0.0, **more) -> Stroke:
    c = np.asarray(centre_mm) + miss_mm * clockwise(angle_deg)
    return Stroke(tuple(c + inner_mm * outward(angle_deg)), tuple(c + outer_mm * outward(angle_deg)), **more)


def chalk(strokes, size_mm, px_per_mm, rng, rings_mm=()):
    """How much chalk (h, w) lies on a square panel, 0 to 1."""
    n = round(size_mm * px_per_mm)
    at = ((np.arange(n) + 0.5) / px_per_mm - size_mm / 2).astype(np.float32)
    x, y = np.meshgrid(at, at)
    total = np.zeros((n, n), np.float32)
    grain = cv2.GaussianBlur(rng.normal(size=(n, n)).astype(np.float32), (0, 0), GRAIN_MM * px_per_mm / 2)
    grain /= grain.std()
    covered = (grain < np.quantile(grain[::7, ::7], COVER)).astype(np.float32)
    for stroke in strokes:
        a, b = np.array(stroke.start_mm), np.array(stroke.end_mm)
        length = float(np.hypot(*(b - a)))
        u = (b - a) / length
        along = (x - a[0]) * u[0] + (y - a[1]) * u[1]
        across = -(x - a[0]) * u[1] + (y - a[1]) * u[0]
        if stroke.bows_mm:
            across = across - np.polynomial.legendre.legval(
                np.clip(2 * along / length - 1, -1, 1), [0, 0, *stroke.bows_mm]
            )
        on = (along >= 0) & (along <= length) & (np.abs(across) <= stroke.width_mm / 2)
        for start, end in stroke.gaps_mm:
            on &= (along < start) | (along > end)
        total = np.maximum(total, on * stroke.strength * covered)
    for radius in rings_mm:
        total = np.maximum(total, (np.abs(np.hypot(x, y) - radius) < 0.5) * covered)
    return cv2.GaussianBlur(total, (0, 0), 0.8)


def photograph(cover, size_mm, px_per_mm, rng, panel_rgb=(40, 40, 44), chalk_rgb=(225, 225, 225), texture=None):
    """The panel from straight above, its corners half a pixel off the picture's."""
    panel = np.asarray(panel_rgb, np.float32) + (0 if texture is None else texture)
    rgb = panel * (1 - cover[..., None]) + np.asarray(chalk_rgb, np.float32) * cover[..., None]
    rgb = rgb + rng.normal(scale=2.0, size=rgb.shape)
    n = cover.shape[0]
    low, high = -0.5, n - 0.5
    lens = Lens(3.0 * n, (n - 1) / 2, (n - 1) / 2)
    corners = [(low, low), (high, low), (high, high), (low, high)]
    return Photo(np.clip(rgb, 0, 255).astype(np.uint8)), Panel.from_corners(size_mm, size_mm, lens, corners)


def detection(strokes, segments, *, light=True, rings_mm=(), diagonals=(), reach_mm, rng, width_mm=1.0) -> Detection:
    """What a first look sees of spokes `strokes` (None where a place is empty), with its errors."""
    phase = 360.0 * rng.uniform() / segments * 0
    directions = np.full(segments, np.nan)
    for k, stroke in enumerate(strokes):
        if stroke is not None:
            directions[k] = bearing(np.array(stroke.end_mm)) + rng.normal(scale=0.3)
    return Detection(
        light=light,
        centre_mm=rng.normal(scale=0.2, size=2),
        segments=segments,
        phase_deg=phase,
        directions_deg=directions,
        strengths=np.isfinite(directions).astype(float),
        ring_radii_mm=np.asarray(rings_mm, float),
        diagonals=tuple(Line(np.array(d.start_mm), np.array(d.end_mm), 1e-4 * np.eye(2), 1.0) for d in diagonals),
        reach_mm=reach_mm,
        outermost_mm=reach_mm,
        stroke_mm=width_mm * 1.1,
        others_deg=np.zeros(0),
    )
