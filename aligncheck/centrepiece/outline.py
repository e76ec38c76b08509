"""From pixels to an outline: the edge to a fraction of a pixel, evenly spaced in mm."""

import cv2
import numpy as np

from aligncheck.centrepiece.core import opened
from aligncheck.centrepiece.sampling import sample
from aligncheck.centrepiece.window import Floats, Mask, Window

#: Distance of the outline's points, and how far the true edge may lie from the cut's, mm.
SPACING_MM, LOOK_MM = 0.2, 0.6
#: Staircases of the pixels are smoothed over this length (sd), mm; offsets along the outline over that.
STAIR_MM, RUN_MM = 0.12, 0.3
#: Inside and outside are judged this far from the edge, mm; a fainter step than this (cube-root colour) places nothing.
BESIDE_MM, LEAST_STEP = 0.5, 0.04


def rough_outline(mask: Mask, window: Window) -> Floats:
    """Outline (n, 2) in mm of the largest part of `mask`, evenly spaced, clockwise as seen, not closed."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    pixels = max(contours, key=cv2.contourArea)[:, 0].astype(float)
    path = even(pixels / window.px_per_mm, SPACING_MM)
    if signed_area(path) < 0:
        path = path[::-1]
    path = smooth(path, STAIR_MM / SPACING_MM)
    # OpenCV's contour runs through the centres of the outermost pixels: half a pixel inside.
    return path + 0.5 / window.px_per_mm * normals(path) - np.array(window.origin_px) / window.px_per_mm


def blunted(outline: Floats, size_mm: float) -> Floats:
    """An outline (n, 2) without what does not hold a disc of `size_mm`; as it is where nothing does."""
    px_per_mm = 1 / SPACING_MM
    low = outline.min(0) - 1.0
    width, height = np.ceil((outline.max(0) + 1.0 - low) * px_per_mm).astype(int)
    mask = np.zeros((height, width), np.uint8)
    cv2.fillPoly(mask, [np.rint((outline - low) * px_per_mm).astype(np.int32)], 1)
    held = opened(mask > 0, px_per_mm, size_mm)
    if not held.any():
        return outline
    contours, _ = cv2.findContours(held.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    path = even(max(contours, key=cv2.contourArea)[:, 0] / px_per_mm + low, SPACING_MM)
    return path[::-1] if signed_area(path) < 0 else path


def sharpen(outline: Floats, window: Window, lines: Mask) -> tuple[Floats, Mask]:
    """Move every point along its normal to where the colour is halfway between inside and outside.

    Returns the outline (n, 2) and where the picture shows an edge or a line hides it (n,).

    Points whose step is faint, or that have a line beside them, follow their neighbours.
    """
    out = normals(outline)
    reach = LOOK_MM + BESIDE_MM
    t = np.arange(-reach, reach + 1e-9, 0.1)
    at = window.to_view(outline[:, None] + t[:, None] * out[:, None])
    seen = np.asarray(sample(cv2.GaussianBlur(window.colours, (0, 0), 0.7), at), float)
    chalk = sample(lines.astype(np.float32), at)
    middle = len(t) // 2
    beside = round(BESIDE_MM / 0.1)
    inside, outside = seen[:, middle - beside], seen[:, middle + beside]
    step = outside - inside
    size = np.linalg.norm(step, axis=1)
    along = np.einsum("ntc,nc->nt", seen - inside[:, None], step) / np.maximum(size, 1e-6)[:, None] ** 2
    offset = _crossing(along - 0.5, t, middle)
    edge = np.isfinite(offset) & (size > LEAST_STEP)
    hidden = chalk[:, middle - beside : middle + beside + 1].max(1) >= 0.5
    good = edge & ~hidden
    weight = np.where(good, size, 0.0)
    values = np.where(good, offset, 0.0)
    sd = RUN_MM / SPACING_MM
    total = smooth(weight[:, None], sd)[:, 0] + 0.01
    return outline + (smooth((weight * values)[:, None], sd)[:, 0] / total)[:, None] * out, edge | hidden


def _crossing(level: Floats, t: Floats, middle: int) -> Floats:
    """Where each row of `level` (n, t) rises through zero nearest to the middle, or NaN."""
    rises = (level[:, :-1] < 0) & (level[:, 1:] >= 0)
    far = np.where(rises, np.abs(np.arange(len(t) - 1) + 0.5 - middle), np.inf)
    k = far.argmin(1)
    rows = np.arange(len(level))
    a, b = level[rows, k], level[rows, k + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        place = t[k] + (t[1] - t[0]) * -a / (b - a)
    return np.where(np.isfinite(far.min(1)) & (np.abs(place) <= LOOK_MM), place, np.nan)


def even(path: Floats, spacing: float) -> Floats:
    """A closed path (n, 2) resampled at about `spacing`."""
    closed = np.vstack([path, path[:1]])
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    n = max(8, round(s[-1] / spacing))
    at = np.arange(n) * s[-1] / n
    return np.column_stack([np.interp(at, s, closed[:, 0]), np.interp(at, s, closed[:, 1])])


def smooth(values: Floats, sd: float) -> Floats:
    """A periodic Gaussian mean of `values` (n, k), `sd` in samples."""
    half = min(int(np.ceil(3 * sd)), (len(values) - 1) // 2)
    kernel = np.exp(-0.5 * (np.arange(-half, half + 1) / max(sd, 1e-6)) ** 2)
    kernel /= kernel.sum()
    wrapped = np.concatenate([values[-half:], values, values[:half]]) if half else values
    return np.stack([np.convolve(column, kernel, "valid") for column in wrapped.T], axis=1)


def normals(path: Floats) -> Floats:
    """Outward unit normals (n, 2) of a closed path that runs clockwise as seen (y down)."""
    along = np.roll(path, -2, 0) - np.roll(path, 2, 0)
    out = np.column_stack([along[:, 1], -along[:, 0]])
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)


def signed_area(path: Floats) -> float:
    """Area of a closed path, positive where it runs clockwise as seen (y down)."""
    following = np.roll(path, -1, 0)
    return float(0.5 * (path[:, 0] * following[:, 1] - following[:, 0] * path[:, 1]).sum())


def centroid(path: Floats) -> Floats:
    """Middle (2,) of the area within a closed path."""
    following = np.roll(path, -1, 0)
    cross = path[:, 0] * following[:, 1] - following[:, 0] * path[:, 1]
    return ((path + following) * cross[:, None]).sum(0) / (3 * cross.sum())
