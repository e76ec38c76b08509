"""Where chalk or pencil was drawn, and which way it runs: the panel from above, with what is known taken out."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Marks
from aligncheck.photo import Photo
from aligncheck.rows.view import colour_view

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Longer side of the view in pixels: four pixels a millimetre on a 30 cm panel, three across a chalk line.
SIDE_PX = 1200
#: Smoothing before the second derivatives, about half a chalk line, so that its grain does not split it.
SMOOTH_MM = 0.42
#: What is wider than this is light, shade or paint, not a line.
BACKGROUND_MM = 4.0
#: Beyond a known line's own width: dust and blur, mm to each side.
FRINGE_MM = 0.3
#: Evidence is saturated, so that a heavy stroke does not outweigh three faint ones: half of it at this many levels of
#: the panel's own grain in that direction, or at this share of a usual stroke, whichever is more.
HALF_AT_GRAIN, HALF_AT_STROKE = 2.5, 0.15
#: Wood and cloth have long grain: its level is taken for each of so many directions, at this percentile.
DIRECTIONS, GRAIN_PERCENTILE = 12, 70
#: Lines that are known hide what runs with them; a petal's side that crosses keeps this share.
KNOWN_SHARE = 0.15
#: Hands stray this much, mm: so far the map is blurred where segments are laid on one another.
STRAY_MM = 0.7


class ChalkMap(NamedTuple):
    """Saturated ridges of the flat view.

    Attributes
    ----------
    tensor : ndarray (h, w, 4), float32
        Symmetric tensor xx, xy, yy: n' T n is 0 to 1 for a stroke whose normal is n; and how much of it can be seen:
        1, or less on known lines.
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin lies.
    signal : ndarray (h, w), float32
        How much like chalk a place is; NaN where rings lie.
    spokes : tuple
        Inner and outer end of the known spokes' strokes, and their width, mm.
    """

    tensor: Singles
    px_per_mm: float
    origin_px: tuple[float, float]
    signal: Singles
    spokes: tuple[tuple[Floats, Floats, float], ...]

    def sample(self, points_mm: Floats, blurred: Singles | None = None) -> Singles:
        """Tensor and what can be seen (n, m, 4) at panel points (n, m, 2); zero outside."""
        p = np.asarray(points_mm, np.float32) * np.float32(self.px_per_mm) + np.asarray(self.origin_px, np.float32)
        source = self.tensor if blurred is None else blurred
        return np.asarray(cv2.remap(source, p[..., 0], p[..., 1], cv2.INTER_LINEAR), np.float32)

    def blurred(self, sd_mm: float) -> "ChalkMap":
        """The same, forgiving a displacement of about `sd_mm`."""
        blurred = np.asarray(cv2.GaussianBlur(self.tensor, (0, 0), sd_mm * self.px_per_mm), np.float32)
        return self._replace(tensor=blurred)

    def signal_at(self, points_mm: Floats) -> Singles:
        """How much like chalk points (n, m, 2) are; NaN on rings and outside."""
        p = np.asarray(points_mm, np.float32) * np.float32(self.px_per_mm) + np.asarray(self.origin_px, np.float32)
        return np.asarray(
            cv2.remap(
                self.signal, p[..., 0], p[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=np.nan
            ),
            np.float32,
        )


def chalk_map(photo: Photo, marks: Marks) -> ChalkMap:
    """Find strokes of the marks' own colour on the panel, less the spokes, rings and diagonals already known."""
    view = colour_view(photo, marks.panel, SIDE_PX)
    scale, origin = view.px_per_mm, view.origin_px
    known, cores = known_lines(marks, view.shape, scale, origin)
    signal = _along_chalk(view.colours, cores, scale)
    smooth = cv2.GaussianBlur(signal, (0, 0), SMOOTH_MM * scale)
    xx, xy, yy = (
        np.asarray(cv2.Sobel(smooth, cv2.CV_32F, dx, dy, ksize=3, scale=-0.25), np.float32)
        for dx, dy in ((2, 0), (1, 1), (0, 2))
    )
    root = np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    larger, smaller = (xx + yy) / 2 + root, (xx + yy) / 2 - root
    # A speck falls off to all sides; a line only across.
    strength = np.maximum(larger - np.maximum(np.abs(smaller), 0.0), 0.0)
    usual = float(np.median(strength[cores])) if cores.any() else 0.0
    half = np.maximum(HALF_AT_GRAIN * _grain(strength, xx - yy, 2 * xy, known), HALF_AT_STROKE * usual)
    evidence = strength / (strength + half + np.float32(1e-9))
    seen = np.where(known, KNOWN_SHARE, 1.0).astype(np.float32)
    evidence *= seen
    # Unit normal n of the ridge: n n' = (H - smaller I) / (larger - smaller).
    share = evidence / np.maximum(2 * root, 1e-9)
    tensor = np.dstack([(xx - smaller) * share, xy * share, (yy - smaller) * share, seen])
    for ring in marks.rings:
        width = max(1, round((ring.width_mm + 2 * FRINGE_MM) * scale))
        middle = _fixed(ring.centre_mm * scale + origin)
        cv2.circle(signal, middle, round(ring.radius_mm * scale * 16), np.nan, width, cv2.LINE_8, 4)
    spokes = tuple((p.inner_mm, p.outer_mm, p.width_mm) for s in marks.spokes for p in (s.strokes or (s,)))
    return ChalkMap(tensor.astype(np.float32), scale, origin, signal, spokes)


def _along_chalk(colours: Singles, cores: NDArray[np.bool_], scale: float) -> Singles:
    """Difference (h, w) from the panel around, along the colour step of the known lines, in units of its noise."""
    local = colours - _background(colours, scale)
    step = local[cores].mean(0) if cores.sum() > 100 else np.ones(3, np.float32)
    plain = local[~cores][::7]
    plain = plain[np.linalg.norm(plain, axis=1) < 2.5 * np.median(np.linalg.norm(plain, axis=1))]
    spread = np.cov(plain.T) + 1e-6 * np.eye(3)
    weights = np.linalg.solve(spread, step)
    weights /= np.sqrt(weights @ spread @ weights)
    return np.asarray(local @ weights.astype(np.float32), np.float32)


def _grain(strength: Singles, cos: Singles, sin: Singles, known: NDArray[np.bool_]) -> Singles:
    """Level (h, w) of the panel's own grain in each pixel's direction; `cos`, `sin` of twice the normal's angle."""
    turn = cv2.phase(cos, sin) * np.float32(DIRECTIONS / (2 * np.pi))
    bins = np.minimum(turn.astype(np.int32), DIRECTIONS - 1)
    free = ~known[::3, ::3]
    sample, where = strength[::3, ::3][free], bins[::3, ::3][free]
    drawn = sample > 0
    sample, where = sample[drawn], where[drawn]
    levels = [
        np.percentile(part, GRAIN_PERCENTILE) if (part := sample[where == k]).size else 0 for k in range(DIRECTIONS)
    ]
    # Neighbouring directions share their grain, so that no step parts them.
    smooth = np.maximum(levels, 0.5 * np.maximum(np.roll(levels, 1), np.roll(levels, -1)))
    return np.asarray(smooth, np.float32)[bins]


def _background(colours: Singles, scale: float) -> Singles:
    """The panel around each pixel, smoothed over `BACKGROUND_MM`."""
    h, w = colours.shape[:2]
    small = cv2.resize(colours, (w // 4, h // 4), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), BACKGROUND_MM * scale / 4)
    return np.asarray(cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR), np.float32)


def known_lines(
    marks: Marks, shape: tuple[int, int], scale: float, origin: tuple[float, float]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Pixels on or beside known lines, and those in the middle of them."""
    wide, core = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
    for image, fringe in ((wide, FRINGE_MM), (core, -0.2)):
        for line in (*(p for s in marks.spokes for p in (s.strokes or (s,))), *marks.diagonals):
            ends = [_fixed(p * scale + origin) for p in (line.inner_mm, line.outer_mm)]
            cv2.line(image, ends[0], ends[1], 1, max(1, round((line.width_mm + 2 * fringe) * scale)), cv2.LINE_8, 4)
        for ring in marks.rings:
            width = max(1, round((ring.width_mm + 2 * fringe) * scale))
            middle = _fixed(ring.centre_mm * scale + origin)
            cv2.circle(image, middle, round(ring.radius_mm * scale * 16), 1, width, cv2.LINE_8, 4)
    return wide > 0, core > 0


def _fixed(point: Floats) -> tuple[int, int]:
    """A point in sixteenths of a pixel."""
    return round(float(point[0]) * 16), round(float(point[1]) * 16)
