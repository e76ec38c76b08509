"""Seeds that edges tell where colours do not.

A dome in the panel's own colour is lighter than it on one side and darker on the other, so that no blob stands out. But
its rim is a closed circle, and in every segment there is one like it.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.orbits import turns
from aligncheck.dots.view import DotView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Radii voted for, mm, and the ratio of one to the next: large domes are what colours miss, and of small circles chance
#: makes many.
SMALLEST_MM, LARGEST_MM, STEP = 1.6, 7.0, 1.1
#: Votes are cast on a picture of this many pixels per mm at most.
PX_PER_MM = 3.3
#: An edge this many times the usual change from pixel to pixel is worth a vote.
EDGE = 3.0
#: A hand sets a dot this far off its place, mm: votes are blurred by it before segments are laid on one another.
BLUR_MM, AROUND = 0.45, 2.5
#: From this share of a whole rim's votes on, in the mean of all segments.
LEAST_SHARE = 0.05
#: So many seeds a segment at most, the clearest: what chance gives them is sorted out later.
MOST = 150


def folded_seeds(view: DotView, centre_mm: Floats, order: int) -> Floats:
    """Seeds (n * order, 4): x, y and radius in mm, and how clear; each at its places in all segments."""
    factor = max(1, round(view.px_per_mm / PX_PER_MM))
    scale = view.px_per_mm / factor
    reduced = cv2.resize(view.away, None, fx=1 / factor, fy=1 / factor, interpolation=cv2.INTER_AREA)
    small = np.asarray(reduced, np.float32)
    origin = (np.array(view.origin_px) + 0.5) / factor - 0.5
    y, x, way = _edges(small)
    sector = _Sector(centre_mm * scale + origin, scale, order, small.shape[:2])
    radii = SMALLEST_MM * STEP ** np.arange(int(np.log(LARGEST_MM / SMALLEST_MM) / np.log(STEP)) + 1)
    stack = np.stack([sector.mean(_votes(x, y, way, r * scale, small.shape[:2])) for r in radii])
    found = _peaks(stack)[:MOST]
    points = sector.points_mm(found[:, 1], found[:, 2])
    seeds = [
        np.column_stack([points @ turn.T + centre_mm, radii[found[:, 0]], stack[tuple(found.T)]])
        for turn in turns(order)
    ]
    return np.concatenate(seeds)


def _edges(picture: Singles) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Rows, columns (n,) and unit directions (n, 2) x, y of edges, in whichever colour they are steepest."""
    soft = cv2.GaussianBlur(picture, (0, 0), 0.8)
    across, down = (np.asarray(cv2.Sobel(soft, cv2.CV_32F, dx, dy), np.float32) for dx, dy in ((1, 0), (0, 1)))
    del soft
    # Colours are less noisy than brightness: each is taken in units of its own usual change.
    usual = np.median(np.hypot(across, down).reshape(-1, 3), axis=0).astype(np.float32)
    # In place: these pictures are large.
    across /= usual
    down /= usual
    steep = np.hypot(across, down)
    most = steep.argmax(2)[..., None]
    steep, across, down = (np.take_along_axis(a, most, 2)[..., 0] for a in (steep, across, down))
    y, x = np.nonzero(
        (steep > EDGE) & (steep >= _beyond(steep, across, down, 1)) & (steep > _beyond(steep, across, down, -1))
    )
    way = np.column_stack([across[y, x], down[y, x]]) / steep[y, x][:, None]
    return y, x, way.astype(float)


def _beyond(steep: Singles, across: Singles, down: Singles, step: float) -> Singles:
    """The steepness (h, w) a pixel farther along each pixel's own direction: an edge is where it is steepest."""
    y, x = (np.arange(n, dtype=np.float32) for n in steep.shape)
    length = np.maximum(steep, np.float32(1e-6))
    return np.asarray(
        cv2.remap(steep, x + step * across / length, y[:, None] + step * down / length, cv2.INTER_LINEAR), np.float32
    )


def _votes(
    x: NDArray[np.int64], y: NDArray[np.int64], way: Floats, radius_px: float, shape: tuple[int, int]
) -> Singles:
    """Share (h, w) of a whole rim of this radius that points at each pixel."""
    height, width = shape
    table = np.zeros(height * width)
    for side in (-radius_px, radius_px):
        column = np.round(x + side * way[:, 0]).astype(np.int64)
        row = np.round(y + side * way[:, 1]).astype(np.int64)
        inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        table += np.bincount(row[inside] * width + column[inside], minlength=height * width)
    return np.asarray(table.reshape(shape) / (2 * np.pi * radius_px), np.float32)


class _Sector:
    """One segment of the design, sampled evenly, and its like in all others."""

    def __init__(self, centre_px: Floats, scale: float, order: int, shape: tuple[int, int]) -> None:
        # What was blurred by a hand's spread is laid on one another at half the size.
        self.blur_px, self.scale = BLUR_MM * scale, scale / 2
        shape = (shape[0] // 2, shape[1] // 2)
        centre_px = (centre_px + 0.5) / 2 - 0.5
        self.shape = shape
        reach = float(np.hypot(*(np.array(shape) / 2)))
        half = np.pi / order
        # A square grid that holds the sector from -half to half about the ray to the right.
        tall = reach * np.sin(min(half, np.pi / 2))
        self.columns = np.arange(0.0 if order > 2 else -reach, reach)
        self.rows = np.arange(-np.ceil(tall) - 1, np.ceil(tall) + 2)
        grid = np.stack(np.meshgrid(self.columns, self.rows), -1)
        angle = np.abs(np.arctan2(grid[..., 1], grid[..., 0]))
        # A little more than the sector, so that what lies on its border has a peak.
        self.inside = angle * np.hypot(*np.moveaxis(grid, -1, 0)) < half * np.hypot(*np.moveaxis(grid, -1, 0)) + 1.5
        self.places = [(grid @ turn.T + centre_px).astype(np.float32) for turn in turns(order)]
        low, high = np.zeros(2, np.float32), np.array([shape[1], shape[0]], np.float32)
        #: How many segments show each place of the grid.
        self.shown = sum(((at > low) & (at < high)).all(-1).astype(np.float32) for at in self.places)

    def mean(self, votes: Singles) -> Singles:
        """The mean of all segments, of each no more than a whole rim."""
        sd = self.blur_px
        # A rim's votes fall within a hand's spread of its middle; those that lie evenly around are chance. The height
        # is brought back to the share of a rim that it was before the blur.
        apart = cv2.GaussianBlur(votes, (0, 0), sd) - cv2.GaussianBlur(votes, (0, 0), AROUND * sd)
        soft = np.clip(apart * np.float32(2 * np.pi * sd**2), 0.0, 1.0)
        soft = cv2.resize(soft, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        total = np.zeros(self.inside.shape, np.float32)
        for place in self.places:
            total += cv2.remap(soft, place[..., 0], place[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        known = self.inside & (self.shown > 0.5 * len(self.places))
        return np.asarray(np.where(known, total / np.maximum(self.shown, 1), 0.0), np.float32)

    def points_mm(self, row: NDArray[np.int64], column: NDArray[np.int64]) -> Floats:
        """Places (n, 2) from the centre."""
        return np.column_stack([self.columns[column], self.rows[row]]) / self.scale


def _peaks(stack: Singles) -> NDArray[np.int64]:
    """Indices (n, 3) of radius, row and column, the clearest first."""
    highest = np.stack([cv2.dilate(layer, np.ones((5, 5), np.uint8)) for layer in stack])
    padded = np.pad(highest, ((1, 1), (0, 0), (0, 0)))
    beside = np.maximum(padded[:-2], padded[2:])
    found = np.argwhere((stack >= np.maximum(highest, beside)) & (stack > LEAST_SHARE))
    return np.asarray(found[np.argsort(-stack[tuple(found.T)], kind="stable")], np.int64)
