"""Seeds that edges tell where colours do not.

A dome in the panel's own colour is lighter than it on one side and darker on the other, so that no blob stands out. But
its rim is a closed circle, and in every segment there is one like it.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.orbits import turns
from aligncheck.dots.view import DotView
from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Radii voted for, mm, and the ratio of one to the next: large domes are what colours miss, and of small circles chance
#: makes many.
SMALLEST_MM, LARGEST_MM, STEP = 1.6, 7.0, 1.1
#: Edges are looked for in a picture of this many pixels per mm at most, and cast their votes on one half as fine, for a
#: hand's spread blurs them anyway.
PX_PER_MM, COARSER = 3.3, 2
#: Places are looked up in rows of so many, which OpenCV takes at once.
COLUMNS = 4096
#: An edge this many times the usual change from pixel to pixel is worth a vote.
EDGE = 3.0
#: The usual change is a median; every third row and column tells it as well.
SPARSE = 3
#: A hand sets a dot this far off its place, mm: votes are blurred by it before segments are laid on one another.
BLUR_MM, AROUND = 0.45, 2.5
#: From this share of a whole rim's votes on, in the mean of all segments.
LEAST_SHARE = 0.05
#: So many seeds a segment at most, the clearest: what chance gives them is sorted out later.
MOST = 150


def folded_seeds(view: DotView, centre_mm: Floats, order: int) -> Floats:
    """Seeds (n * order, 4): x, y and radius in mm, and how clear; each at its places in all segments."""
    factor = max(1.0, view.px_per_mm / PX_PER_MM)
    size = _reduced_size(view.shape, factor)
    scale = view.px_per_mm / factor / COARSER
    origin = (np.array(view.origin_px) + 0.5) / (factor * COARSER) - 0.5
    x, y, way = _edges(_reduced(view.away, factor))
    x, y = ((at + 0.5) / COARSER - 0.5 for at in (x, y))
    shape = -(-size[0] // COARSER), -(-size[1] // COARSER)
    sector = _Sector(centre_mm * scale + origin, scale, order, shape)
    radii = SMALLEST_MM * STEP ** np.arange(int(np.log(LARGEST_MM / SMALLEST_MM) / np.log(STEP)) + 1)
    # Of a rim there are as many edges as pixels in the finer picture.
    stack = np.stack([sector.mean(_votes(x, y, way, r * scale, shape, r * scale * COARSER)) for r in radii])
    found = _peaks(stack)[:MOST]
    points = sector.points_mm(found[:, 1], found[:, 2])
    seeds = [
        np.column_stack([points @ turn.T + centre_mm, radii[found[:, 0]], stack[tuple(found.T)]])
        for turn in turns(order)
    ]
    return np.concatenate(seeds)


def _reduced(picture: Singles, factor: float) -> Singles:
    """The picture (h, w, 3), every pixel the mean of `factor` by `factor` of its own."""
    size = _reduced_size((picture.shape[0], picture.shape[1]), factor)
    # Whole pixels of the result, so that its scale is exactly the one asked for.
    height, width = (min(n, round(m * factor)) for n, m in zip(picture.shape[:2], size, strict=True))
    return np.asarray(cv2.resize(picture[:height, :width], size[::-1], interpolation=cv2.INTER_AREA), np.float32)


def _reduced_size(shape: tuple[int, int], factor: float) -> tuple[int, int]:
    """Height and width of a picture that is reduced by a factor."""
    return max(1, int(shape[0] / factor)), max(1, int(shape[1] / factor))


def _edges(picture: Singles) -> tuple[Floats, Floats, Floats]:
    """Columns, rows (n,) and unit directions (n, 2) x, y of edges, in whichever colour they are steepest."""
    steep, across, down = (np.zeros(picture.shape[:2], np.float32) for _ in range(3))
    for channel in range(3):
        soft = cv2.GaussianBlur(cv2.extractChannel(picture, channel), (0, 0), 0.8)
        dx, dy = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
        change = np.asarray(cv2.magnitude(dx, dy), np.float32)
        # Colours are less noisy than brightness: each is taken in units of its own usual change.
        usual = np.float32(max(median(change[::SPARSE, ::SPARSE].ravel()), 1e-9))
        for one in (change, dx, dy):
            one /= usual
        more = change > steep
        for best, new in ((steep, change), (across, dx), (down, dy)):
            np.copyto(best, new, where=more)
    # Pictures are large beside what lies on edges: each is freed as soon as it is not needed.
    del picture, soft, change, dx, dy, more, best, new, one
    y, x = np.nonzero(steep > EDGE)
    here = steep[y, x]
    way = np.column_stack([across[y, x], down[y, x]])
    way /= here[:, None]
    del across, down
    # An edge is where it is steepest along its own direction.
    top = (here >= _beyond(steep, x, y, way)) & (here > _beyond(steep, x, y, -way))
    return x[top].astype(float), y[top].astype(float), way[top].astype(float)


def _beyond(steep: Singles, x: NDArray[np.int64], y: NDArray[np.int64], way: Singles) -> Singles:
    """The steepness (n,) a pixel farther along each direction."""
    pad = -len(x) % COLUMNS
    place = np.stack([x + way[:, 0], y + way[:, 1]]).astype(np.float32)
    rows = np.pad(place, ((0, 0), (0, pad))).reshape(2, -1, COLUMNS)
    found = cv2.remap(steep, rows[0], rows[1], cv2.INTER_LINEAR) if len(x) else rows[0]
    return np.asarray(found.ravel()[: len(x)], np.float32)


def _votes(x: Floats, y: Floats, way: Floats, radius_px: float, shape: tuple[int, int], rim: float) -> Singles:
    """Share (h, w) of a whole rim of this radius, about which lie 2 pi `rim` edges, that points at each pixel."""
    height, width = shape
    votes = np.zeros(height * width, np.int64)
    for side in (-radius_px, radius_px):
        column, row = (np.rint(at + side * way[:, k]).astype(np.int64) for k, at in enumerate((x, y)))
        inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        votes += np.bincount(row[inside] * width + column[inside], minlength=height * width)
    return votes.reshape(shape).astype(np.float32) / np.float32(2 * np.pi * rim)


class _Sector:
    """One segment of the design, sampled evenly, and its like in all others."""

    def __init__(self, centre_px: Floats, scale: float, order: int, shape: tuple[int, int]) -> None:
        self.blur_px, self.scale = BLUR_MM * scale, scale
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
