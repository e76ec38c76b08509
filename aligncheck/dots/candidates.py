"""Circles that may be dots: seeds, moved onto the rims around them, and of those that met only the best."""

from collections.abc import Callable, Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.blobs import find_blobs
from aligncheck.dots.rims import Look, Rims, fit_rims, seeds
from aligncheck.dots.view import DotView
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.small import medians

Floats = NDArray[np.float64]

#: From a rough look at a wide window to a close one; the last two without saturation, which moves an edge outward.
ROUGH, CLOSER, CLOSE = Look(16, 12, 0.55), Look(24, 14, 0.35), Look(32, 20, 0.25)
LAST = Look(48, 20, 0.16, 1.7, saturate=False)
#: What a circle must show of its rim at each look.
LEAST_COVERAGE = (0.45, 0.6)
#: Two circles are one if they lie within this share of the radius, and radii within this ratio.
SAME_PLACE, SAME_RADIUS = 0.25, 0.14
#: Points inside a circle where its colour is taken: shares of the radius, directions.
INSIDE, DIRECTIONS = (0.25, 0.5, 0.72), 12


def find_candidates(view: DotView) -> Rims:
    """Circles that show most of a rim, from where colours say that one may be."""
    return grown(view, find_blobs(view))


def grown(view: DotView, found: Floats) -> Rims:
    """Circles that show most of a rim, from seeds (n, 3 or more): x, y and radius in mm."""
    xy = view.to_view(found[:, :2])
    rims = seeds(xy[:, 0], xy[:, 1], found[:, 2] * view.px_per_mm)
    for look, least in zip((ROUGH, CLOSER), LEAST_COVERAGE, strict=True):
        rims = fit_rims(view.away, rims, look)
        rims = _inside(rims.take(rims.coverage >= least), view)
        rims = thinned(rims, lambda r: r.coverage - r.noise_px / r.r)
    return rims


def refined(view: DotView, rims: Rims) -> Rims:
    """The same circles from the closest look."""
    for _ in range(2):
        rims = fit_rims(view.away, rims, LAST)
    return rims


def _inside(rims: Rims, view: DotView) -> Rims:
    h, w = view.shape
    return rims.take((rims.x > 0) & (rims.x < w) & (rims.y > 0) & (rims.y < h) & (rims.r > 0.4 * view.px_per_mm))


def thinned(rims: Rims, score: Callable[[Rims], Floats]) -> Rims:
    """Of circles that lie on one another only the best; twice, on shifted grids, so that few pairs are parted."""
    for shift in (0.0, 0.5):
        size = np.round(np.log(rims.r) / SAME_RADIUS + shift)
        cell = np.exp((size - shift) * SAME_RADIUS) * SAME_PLACE
        key = np.column_stack([size, np.round(rims.x / cell + shift), np.round(rims.y / cell + shift)]).astype(np.int64)
        order = np.argsort(-score(rims), kind="stable")
        # Three small numbers as one: rows are compared much slower.
        whole = (key - key.min(0, initial=0)) @ np.array([1 << 42, 1 << 21, 1])
        _, first = np.unique(whole[order], return_index=True)
        rims = rims.take(np.sort(order[first]))
    return rims


def colours_inside(view: DotView, rims: Rims, image: NDArray[np.float32] | None = None) -> Floats:
    """Median colour (n, 3) inside each circle, less than the bare panel's: a highlight covers fewer than half."""
    source = view.away if image is None else image
    parts = [medians(seen, axis=1) for seen in _seen_inside(source, rims)]
    return np.concatenate(parts).astype(float) if parts else np.zeros((0, 3))


def contrast_inside(view: DotView, rims: Rims) -> Floats:
    """Median distance (n,) from the bare panel inside each circle, in units of the panel's noise.

    Of the distances, not of the colours: a dome in the panel's own colour is lighter on one side, darker on the other.
    """
    parts = [medians(lengths(seen), axis=1) for seen in _seen_inside(view.unlike, rims)]
    return np.concatenate(parts).astype(float) if parts else np.zeros(0)


def _seen_inside(image: NDArray[np.float32], rims: Rims) -> Iterator[NDArray[np.float32]]:
    """Colours (m, points, 3) at points inside the circles, some thousand circles at a time."""
    angle = np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS)
    dx = (np.asarray(INSIDE)[:, None] * np.cos(angle)).ravel()
    dy = (np.asarray(INSIDE)[:, None] * np.sin(angle)).ravel()
    x = (rims.x[:, None] + rims.r[:, None] * dx).astype(np.float32)
    y = (rims.y[:, None] + rims.r[:, None] * dy).astype(np.float32)
    for k in range(0, len(x), 8192):
        yield np.asarray(cv2.remap(image, x[k : k + 8192], y[k : k + 8192], cv2.INTER_LINEAR), np.float32)


def figure(view: DotView, rims: Rims) -> Floats:
    """How much more painted each circle's rim is just inside than just outside, 0 to 1 (n,), by the mean of its rays.

    A highlight on a dot has the dot around it, two dots taken for one have panel inside: both score low.
    """
    painted = view.painted
    angle = np.arange(2 * DIRECTIONS) * (np.pi / DIRECTIONS)

    def along(radius: Floats) -> Floats:
        x = (rims.x[:, None] + radius[:, None] * np.cos(angle)).astype(np.float32)
        y = (rims.y[:, None] + radius[:, None] * np.sin(angle)).astype(np.float32)
        parts = [
            cv2.remap(painted, x[k : k + 16384], y[k : k + 16384], cv2.INTER_LINEAR) for k in range(0, len(x), 16384)
        ]
        return np.concatenate(parts).astype(float) if parts else np.zeros((0, len(angle)))

    step = along(0.88 * rims.r - 0.3) - along(1.12 * rims.r + 1.0)
    return np.maximum(np.clip(step, -0.2, 1.0).mean(1), 0.0)
