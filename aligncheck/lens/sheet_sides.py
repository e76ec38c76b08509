"""The straight sides of the sheet a board is printed on: they reach further out than the board, where lenses bend most.

They serve as plumb lines (Brown, Photogrammetric Engineering 37 (1971) 855): where they lie does not matter, only that
they are straight.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.legendre import legendre
from aligncheck.geometry.projective import apply_homography
from aligncheck.geometry.small import median, medians, nanmedians
from aligncheck.lens.bend import Lens
from aligncheck.photo import Photo

if TYPE_CHECKING:
    from aligncheck.lens.views import View

Floats = NDArray[np.float64]
#: Pixels of board places: along the side, and out from the squares.
Place = Callable[[Floats, Floats], Floats]

#: How far beyond the squares a side is looked for, in squares, and the step along it.
FARTHEST, ALONG = 9.0, 0.1
#: Half-length of the profile across a side, px, from which its sub-pixel place is taken.
HALF_PX = 7
#: A side must lie within this of a straight line, px, to count as the sheet's cut edge.
STRAIGHT_PX = 2.5
#: Points kept per side: more add nothing, neighbours share the paper's own unevenness.
KEEP = 60


class Side(NamedTuple):
    """Points (n, 2) on one straight side, in pixels of the upright photo, in order."""

    pixels: Floats


def find_sheet_sides(photo: Photo, view: "View", lens: Lens) -> list[Side]:
    """The sheet's sides that stand out against the table; none is no error.

    `lens` need only be about right (some px at the picture's border).
    """
    to_board, _ = cv2.findHomography(lens.unbend(view.pixels), view.points)
    to_photo = np.linalg.inv(np.asarray(to_board, float))
    sides = []
    for axis in (0, 1):
        for outward in (-1, 1):
            pixels = _side(photo, view, lens, to_photo, axis, outward)
            if pixels is not None:
                sides.append(Side(pixels))
    return sides


def _side(photo: Photo, view: "View", lens: Lens, to_photo: Floats, axis: int, outward: int) -> Floats | None:
    """Points on the side beyond the squares in the direction `outward` of `axis`, or None."""
    first, last = view.extent
    start = (first, last)[outward > 0][axis]
    along = np.arange(first[1 - axis] - FARTHEST, last[1 - axis] + FARTHEST, ALONG)
    out = np.arange(0.2, FARTHEST, 0.02)

    def board(s: Floats, t: Floats) -> Floats:
        p = np.empty((*np.broadcast_shapes(s.shape, t.shape), 2))
        p[..., 1 - axis], p[..., axis] = s, start + outward * t
        return p

    def pixels(s: Floats, t: Floats) -> Floats:
        return lens.bend(apply_homography(to_photo, board(s, t)))

    at = pixels(along[:, None], out[None, :])
    grey = _sample(photo.grey, at)
    line = _first_fall(grey, along, out, (first[1 - axis], last[1 - axis]))
    if line is None:
        return None
    return _refine(photo, pixels, along, line)


def _sample(grey: NDArray[np.uint8], at: Floats) -> Floats:
    """Grey values at pixel places (..., 2); NaN outside the photo."""
    flat = at.reshape(-1, at.shape[-2], 2).astype(np.float32)
    values = cv2.remap(grey, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR).astype(float).reshape(at.shape[:-1])
    height, width = grey.shape
    outside = (at < 1).any(-1) | (at[..., 0] > width - 2) | (at[..., 1] > height - 2) | ~np.isfinite(at).all(-1)
    return np.where(outside, np.nan, values)


def _first_fall(
    grey: Floats, along: Floats, out: Floats, span: tuple[float, float]
) -> tuple[float, float, float] | None:
    """Offset, slope (in squares) and support of the first line, seen from the board, where the sheet's white ends."""
    beside = (along > span[0]) & (along < span[1])
    near = grey[beside, :10]
    # Rays that start outside the photo see nothing: their white is never fallen below.
    white = np.nanmedian(np.where(np.isfinite(near).any(1, keepdims=True), near, 0.0), axis=1)
    fall = grey[beside] < 0.8 * white[:, None]
    ends = np.where(fall.any(1), out[fall.argmax(1)], np.nan)
    s = along[beside]
    seen = np.isfinite(ends)
    if seen.mean() < 0.6:
        return None
    best = _steady_line(s[seen], ends[seen])
    return best if best is not None and best[2] >= 0.6 * len(s) else None


def _steady_line(s: Floats, t: Floats) -> tuple[float, float, float] | None:
    """Offset, slope and number of agreeing points of the line that most points share (pairs far apart)."""
    best: tuple[float, float, float] | None = None
    half = len(s) // 2
    for i in range(0, half, 3):
        for j in range(half, len(s), 3):
            slope = (t[j] - t[i]) / (s[j] - s[i])
            if abs(slope) > 0.15:
                continue
            near = np.abs(t - t[i] - slope * (s - s[i])) < 0.06
            if best is None or near.sum() > best[2]:
                fit = np.polyfit(s[near], t[near], 1) if near.sum() > 2 else (slope, t[i] - slope * s[i])
                best = (float(fit[1]), float(fit[0]), float(near.sum()))
    return best


def _refine(photo: Photo, pixels: Place, along: Floats, line: tuple[float, float, float]) -> Floats | None:
    """Sub-pixel points of the side that runs near `line`, over its whole length; None where it is not straight."""
    path = pixels(along, line[0] + line[1] * along)
    keep = (np.isfinite(path) & (path > 0) & (path < np.array(photo.grey.shape[::-1]) - 1.0)).all(1)
    path = path[keep]
    for half in (2 * HALF_PX, HALF_PX):
        if len(path) < KEEP / 2:
            return None
        normal = np.gradient(path, axis=0)[:, ::-1] * (1, -1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        offset, good = edge_offsets(photo.grey, path, normal, half)
        smooth = _smooth(np.linspace(-1, 1, len(path)), offset, good)
        if smooth is None:
            return None
        curve, near = smooth
        if half == HALF_PX:
            points = path + offset[:, None] * normal
            return _thinned(points, near)
        first, last = np.flatnonzero(near)[[0, -1]]
        path = (path + curve[:, None] * normal)[first : last + 1]
    return None


def edge_offsets(grey: NDArray[np.uint8], path: Floats, normal: Floats, half: int) -> tuple[Floats, NDArray[np.bool_]]:
    """Where each profile across `path` crosses half of its step, px, and whether it has a step at all."""
    steps = np.arange(-half - 2, half + 2.01, 0.5)
    codes = _sample(grey, path[:, None] + steps[:, None] * normal[:, None])
    light = (codes / 255.0) ** 2.2
    if np.nanmean(light[:, :6]) < np.nanmean(light[:, -6:]):
        light, steps = light[:, ::-1], steps[::-1]
    high, low = medians(light[:, :6], 1), medians(light[:, -6:], 1)
    usual = float(nanmedians(high - low))
    above = light > ((high + low) / 2)[:, None]
    k = np.clip(above.shape[1] - 1 - above[:, ::-1].argmax(1), 0, above.shape[1] - 2)
    rows = np.arange(len(path))
    a, b = light[rows, k], light[rows, k + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        offset = steps[k] + (steps[1] - steps[0]) * (a - (high + low) / 2) / (a - b)
    # One crossing only: a second one is a thing that lies over the side.
    once = np.abs(np.diff(above.astype(int), axis=1)).sum(1) == 1
    good = np.isfinite(offset) & once & (high - low > 0.4 * usual) & (usual > 0.05)
    return np.where(good, offset, 0.0), good


def _smooth(u: Floats, offset: Floats, good: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.bool_]] | None:
    """A cubic through the offsets, outliers left out, and which points lie on it; None if too few do."""
    near = good.copy()
    for _ in range(6):
        if near.sum() < KEEP / 2:
            return None
        basis = legendre(u, 3)
        curve = basis @ np.linalg.lstsq(basis[near], offset[near], rcond=None)[0]
        apart = np.abs(offset - curve)
        near = good & (apart < max(3 * 1.4826 * median(apart[near]), 0.15))
    if np.std(offset[near] - curve[near]) > STRAIGHT_PX / 3 or near.sum() < 0.5 * good.sum():
        return None
    return curve, near


def _thinned(points: Floats, near: NDArray[np.bool_]) -> Floats:
    """About `KEEP` means of neighbouring points."""
    chosen = points[near]
    groups = np.array_split(np.arange(len(chosen)), min(KEEP, len(chosen)))
    return np.array([chosen[g].mean(0) for g in groups])
