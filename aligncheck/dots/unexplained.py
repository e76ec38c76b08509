"""Is it paint, or the drawing itself? Grains and crossings of chalk lines can look like rows of small dots."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots
from aligncheck.marks import Marks

#: A blob this many line widths across is no blot of the line it lies on: lines that cross at a sharp angle make
#: blots of about two.
TIMES_THE_LINE = 2.5
#: Where petals are traced it takes so many dots a segment to be paint.
RINGS_ON_ROWS = 3
#: And this share of all that look like dots: where nearly all lie on strokes that are known, the others lie on strokes
#: that are not (the far side of a petal, its inner line).
CLEAR_SHARE = 0.25


def unexplained(dots: Dots, marks: Marks) -> NDArray[np.bool_]:
    """Which dots (n,) the marks do not explain: they lie beside every line, or are far wider than the lines."""
    if not dots.dots:
        return np.zeros(0, bool)
    centres = np.array([d.centre_mm for d in dots.dots])
    diameters = np.array([d.diameter_mm for d in dots.dots])
    drawn = [s.width_mm for s in marks.spokes] + [r.width_mm for r in marks.rings]
    widths = [w for w in drawn if w > 0]
    if not widths:
        return np.ones(len(centres), bool)
    beside = _nearest_line_mm(centres, marks) > diameters / 2 + np.median(widths) / 2
    return np.asarray(beside | (diameters > TIMES_THE_LINE * np.median(widths)), bool)


def is_paint(dots: Dots, marks: Marks, beside_petals: NDArray[np.bool_] | None = None) -> bool:
    """Whether at least one dot in every second segment is more than the marks explain.

    `beside_petals` (n,): which dots also lie clear of traced petals. Where any are traced their strokes cross beyond
    them, too, so that several rings of dots are asked for.
    """
    own = unexplained(dots, marks)
    if beside_petals is None:
        return bool(own.sum() >= max(2, dots.order / 2))
    clear = own & beside_petals
    return bool(clear.sum() >= RINGS_ON_ROWS * dots.order and clear.mean() >= CLEAR_SHARE)


def _nearest_line_mm(points: NDArray[np.float64], marks: Marks) -> NDArray[np.float64]:
    """Distance (n,) from each point (n, 2) to the nearest drawn line."""
    to_rings = [np.abs(np.hypot(*(points - r.centre_mm).T) - r.radius_mm) for r in marks.rings]
    to_lines = [np.abs((points - line.inner_mm) @ line.across) for line in (*marks.spokes, *marks.diagonals)]
    return np.asarray(np.min([*to_rings, *to_lines], axis=0), float)
