"""Is anything traced or painted between the known lines? A cheap look, so that a merely marked panel costs no more."""

from typing import Any, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile
from aligncheck.marks import Marks
from aligncheck.photo import Photo
from aligncheck.rows.chalk_map import known_lines
from aligncheck.rows.round_things import count_round
from aligncheck.rows.view import colour_view

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Longer side of the view in pixels, and at least so many a millimetre: a chalk line is then two across on any panel.
SIDE_PX, LEAST_PX_PER_MM = 600, 2.0
#: The bare panel around a pixel is the median over so many mm: more than half of it is bare between lines.
AROUND_MM = 20.0
#: A pixel is drawn or painted from this many times the panel's usual differences, and this share of a known line's.
UNLIKE, LINE_SHARE = 4.0, 0.3
#: The usual differences are a median; every second row and column tells it as well.
SPARSE = 2
#: What holds a disc of this size is paint or a thing, not a line, mm; but for long parts that hold no larger one: the
#: side of a stick of chalk draws up to three millimetres broad. Together such parts cover at least so many mm^2, as
#: much as ten millimetres of line and more than any dot without the larger disc.
THICK_MM, BROAD_MM, LONG_MM2 = 1.9, 3.2, 20.0
#: Painted dots: blobs this many discs wide at least, at most so many mm, that fill this share of the circle about them
#: and are no more than this share known lines; where lines cross, nearly all of a blob is known.
LEAST_DISCS, MOST_MM, ROUND, ON_LINES = 1.5, 16.0, 0.6, 0.6
#: From this share of the drawing on, thick things cover so much of it that single blobs tell no more.
COVERED = 0.5
#: From this share on it may cover so much that blobs run together, and is looked at again: of dots packed so densely
#: there are so many a segment at least.
DENSE, PACKED = 0.03, 4
#: Nearer the centre the spokes run together, mm.
INNERMOST_MM = 8.0
#: Strokes off the lines cover this share of the free panel where rows are traced (wiped ghosts and strays: a fiftieth
#: at most; one row of petals: a thirtieth), and at least this much of what is thick.
LEAST_SHARE, LEAST_OF_THICK = 0.015, 0.2
#: Of these, what is nearly as strong as a known line: petals are traced as the marks were, ghosts are wiped. A row of
#: petals covers 0.013 with it, ghosts and strays 0.009 at most; a needless look is only slow.
STRONG_SHARE, LEAST_STRONG = 0.6, 0.01
#: Where only some segments have petals: strokes of this share of a known line and this length, mm, in one segment more
#: than in the barest ones (at this percentile) come to two sides of 20 mm. Strays, ghosts and letters rarely do.
BEGUN_SHARE, STROKE_MM, LEAST_BEGUN_MM, BAREST = 0.45, 6.0, 40.0, 0.2
#: Where paint covers more than this share of a segment, and strokes are less than that share of it, they are the gaps
#: between dots: so dense a segment is painted, and what was traced there is hidden. Of dots that nearly touch there is
#: half a segment, and gaps between them are a quarter of that.
PAINTED, GAPS = 0.4, 0.33
#: A stroke covers so much across at least, mm: pencil.
STROKE_WIDE_MM = 0.4
#: Bins a segment: a petal lies within one segment, wherever that begins.
BINS = 4


class Traces(NamedTuple):
    """Areas off the known lines, within the drawing, mm^2; `strong_mm2` is 0 where strokes are too few to ask.

    `begun_mm`: length of strokes that one segment has more than most; 0 where there is no need to ask.
    """

    strokes_mm2: float
    strong_mm2: float
    thick_mm2: float
    free_mm2: float
    blobs: int = 0
    begun_mm: float = 0.0

    def dots_likely(self, order: int) -> bool:
        """Whether it is worth looking for painted dots, of which there are at least `order`: one a segment."""
        return self.blobs >= order or self.thick_mm2 > COVERED * self.free_mm2

    @property
    def enough(self) -> bool:
        """Whether there are strokes enough for rows, however strong."""
        return self.strokes_mm2 > max(LEAST_SHARE * self.free_mm2, LEAST_OF_THICK * self.thick_mm2)

    @property
    def rows_likely(self) -> bool:
        """Whether it is worth looking for petals."""
        whole = self.enough and self.strong_mm2 > LEAST_STRONG * self.free_mm2
        return whole or self.begun_mm > LEAST_BEGUN_MM


def traces(photo: Photo, marks: Marks) -> Traces:
    """Measure what is drawn beside the marks."""
    longest = max(marks.panel.width_mm, marks.panel.height_mm)
    view = colour_view(photo, marks.panel, max(SIDE_PX, round(LEAST_PX_PER_MM * longest)))
    scale = view.px_per_mm
    known, cores = known_lines(marks, view.shape, scale, view.origin_px)
    known = cv2.dilate(known.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    differences = cv2.split(cv2.absdiff(view.colours, _around(view.colours, scale)))
    unlike = np.asarray(cv2.max(cv2.max(differences[0], differences[1]), differences[2]), np.float32)
    step = median(unlike[cores]) if cores.any() else 0.0
    plain = UNLIKE * median(unlike[::SPARSE, ::SPARSE].ravel())
    within = _within(marks, view.shape, scale, view.origin_px)
    free = within & ~known
    strokes, thick, blobs = _parts(unlike > max(plain, LINE_SHARE * step), within, free, scale)
    strokes_mm2, thick_mm2, free_mm2 = (np.count_nonzero(part) / scale**2 for part in (strokes, thick, free))
    number = _blobs(blobs, known, scale)
    if number < marks.segments and COVERED * free_mm2 >= thick_mm2 > DENSE * free_mm2:
        packed = count_round(view, within, free)
        number = packed if packed >= PACKED * marks.segments else number
    seen = Traces(strokes_mm2, 0.0, thick_mm2, free_mm2, number)
    if seen.enough:
        strong, _, _ = _parts(unlike > max(plain, STRONG_SHARE * step), within, free, scale)
        seen = seen._replace(strong_mm2=np.count_nonzero(strong) / scale**2)
    if seen.rows_likely or strokes_mm2 < LEAST_BEGUN_MM * STROKE_WIDE_MM:
        return seen
    strokes, paint, _ = _parts(unlike > max(plain, BEGUN_SHARE * step), within, free, scale)
    middle_px = marks.centre.xy_mm * scale + view.origin_px
    painted = _painted(strokes, paint, within, middle_px, marks.segments)
    return seen._replace(begun_mm=_begun_mm(strokes, marks.segments, scale, middle_px, painted))


def _begun_mm(strokes: Mask, count: int, scale: float, middle_px: Floats, painted: Mask) -> float:
    """Length of strokes in the segment that has most of them and is not `painted`, beyond the barest segments."""
    _, _, stats, middles = cv2.connectedComponentsWithStats(strokes.astype(np.uint8), connectivity=8)
    length = np.hypot(stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT]) / scale
    x, y = (middles[1:] - middle_px).T
    long = length > STROKE_MM
    found = np.bincount(_bins(x[long], y[long], count), weights=length[long], minlength=len(painted))
    segments = _by_segment(found)
    return max(float(np.max(segments, where=~painted, initial=0.0) - quantile(segments, BAREST)), 0.0)


def _painted(strokes: Mask, paint: Mask, within: Mask, middle_px: Floats, count: int) -> Mask:
    """Which segments (bins,), one from every bin on, are covered with paint that leaves no room for petals."""
    areas = []
    for mask in (strokes, paint, within):
        # Areas need no finer look than every second row and column.
        y, x = np.nonzero(mask[::SPARSE, ::SPARSE])
        where = _bins(SPARSE * x - middle_px[0], SPARSE * y - middle_px[1], count)
        areas.append(_by_segment(np.bincount(where, minlength=BINS * max(count, 1))))
    return np.asarray((areas[1] > PAINTED * areas[2]) & (areas[0] < GAPS * areas[1]), bool)


def _bins(x: Floats, y: Floats, count: int) -> NDArray[np.int64]:
    """The bin (n,) of each place from the centre, clockwise from the top."""
    bins = BINS * max(count, 1)
    return np.floor(np.arctan2(x, -y) / (2 * np.pi) * bins).astype(np.int64) % bins


def _by_segment(found: NDArray[Any]) -> NDArray[Any]:
    """Sums (bins,) over as many bins as a segment has, from every bin on backward."""
    return np.asarray(sum(np.roll(found, k) for k in range(BINS)))


def _blobs(thick: Mask, known: Mask, scale: float) -> int:
    """How many thick things are round and no crossings of known lines."""
    number, labels, stats, _ = cv2.connectedComponentsWithStats(thick.astype(np.uint8), connectivity=4)
    if number < 2:
        return 0
    wide, high, area = (stats[1:, k] for k in (cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT, cv2.CC_STAT_AREA))
    across = np.maximum(wide, high)
    sized = (across >= LEAST_DISCS * THICK_MM * scale) & (across <= MOST_MM * scale)
    on_lines = np.bincount(labels[known], minlength=number)[1:] / area
    return int((sized & (area > ROUND * np.pi / 4 * across**2) & (on_lines < ON_LINES)).sum())


def _parts(on: Mask, within: Mask, free: Mask, scale: float) -> tuple[Mask, Mask, Mask]:
    """Of what is on: strokes in the free area, what is thicker, and all that holds the disc, broad strokes too."""
    disc, broad = _disc(THICK_MM * scale), _disc(BROAD_MM * scale)
    thick = (cv2.morphologyEx(on.astype(np.uint8), cv2.MORPH_OPEN, disc) > 0) & within
    things = cv2.dilate(cv2.morphologyEx(thick.astype(np.uint8), cv2.MORPH_OPEN, broad), broad) > 0
    narrow = thick & ~things
    paint = thick & ~_large(narrow, LONG_MM2 * scale**2) if np.count_nonzero(narrow) > LONG_MM2 * scale**2 else thick
    return on & free & ~(cv2.dilate(paint.astype(np.uint8), disc) > 0), paint, thick


def _disc(size_px: float) -> NDArray[np.uint8]:
    """A disc to open and widen masks with, of an odd number of pixels."""
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (max(3, round(size_px) | 1),) * 2), np.uint8)


def _large(mask: Mask, least_px: float) -> Mask:
    """The connected parts that cover at least so many pixels."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    large = stats[:, cv2.CC_STAT_AREA] >= least_px
    large[0] = False
    return np.asarray(large[labels], bool)


def _around(colours: Singles, scale: float) -> Singles:
    """The usual colour around every pixel."""
    height, width = colours.shape[:2]
    small = cv2.resize(colours, None, fx=0.125, fy=0.125, interpolation=cv2.INTER_AREA)
    # OpenCV's median of floating pictures takes 5 pixels at most.
    size = 5 if AROUND_MM * scale / 8 >= 4 else 3
    medians = np.dstack([cv2.medianBlur(np.ascontiguousarray(small[..., k]), size) for k in range(3)])
    smooth = cv2.GaussianBlur(medians, (0, 0), 2.0)
    return np.asarray(cv2.resize(smooth, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def _within(marks: Marks, shape: tuple[int, int], scale: float, origin: tuple[float, float]) -> NDArray[np.bool_]:
    """The drawing, from near the centre to its outermost mark."""
    centre = marks.centre.xy_mm
    outermost = max(
        [r.radius_mm for r in marks.rings] + [float(np.hypot(*(s.outer_mm - centre))) for s in marks.spokes],
        default=0.0,
    )
    x = (np.arange(shape[1]) - origin[0]) / scale - centre[0]
    y = (np.arange(shape[0]) - origin[1]) / scale - centre[1]
    square = x[None, :] ** 2 + y[:, None] ** 2
    return np.asarray((square > INNERMOST_MM**2) & (square < outermost**2), bool)
