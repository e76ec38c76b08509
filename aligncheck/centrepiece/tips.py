"""Tips: each is looked at again, since the reach is decided by a single one.

The cut rounds a sharp tip off and may leave a whisker of chalk on it. Both sides of a tip are fitted where no line lies
beside them; the tip goes out towards their crossing as far as its colour is seen, and back to it from a whisker.
"""

from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.centrepiece.outline import SPACING_MM, normals, smooth
from aligncheck.centrepiece.sampling import sample
from aligncheck.centrepiece.window import Floats, Mask, Singles, Window

#: A tip is the furthest point of the outline over this far to both sides, mm.
ALONE_MM = 2.0
#: Its sides are fitted from here to there along the outline, mm; nearer it is rounded, farther it bends.
FROM_MM, TO_MM = 1.6, 5.2
#: A side is straight to this, mm; more than this share of its points must be free of lines.
STRAIGHT_MM, FREE = 0.16, 0.35
#: Only tips sharper than this are continued, degrees: rounder ones end where the cut says.
SHARPEST_DEG = 75.0
#: How far a tip may lie beyond the cut's, and how far back, mm; less than `SMALL_MM` is left alone.
BEYOND_MM, BACK_MM, SMALL_MM = 2.6, 2.5, 0.1
#: The tip's colour must be seen to at least this share of what a wedge so wide would show through a blur of this width.
SEEN, BLUR_MM = 0.25, 0.35
#: Steps outward, mm.
STEP_MM = 0.1


class Tip(NamedTuple):
    """A tip as it was put right: the outline between `first` and `last` (indices, cyclic) goes over `xy_mm` instead.

    `hidden_mm`: how much of the way lay under a line, so that only half of it was taken.
    """

    first: int
    last: int
    xy_mm: Floats
    hidden_mm: float


def mend_tips(outline: Floats, window: Window, lines: Mask, centre_mm: Floats) -> tuple[Floats, tuple[Tip, ...]]:
    """The outline (n, 2) with its tips put right, and what was done."""
    chalk = lines.astype(np.float32)
    soft = np.asarray(cv2.GaussianBlur(window.colours, (0, 0), 0.7), np.float32)
    tips = []
    for k in _tips(outline, centre_mm):
        tip = _mend(k, outline, window, soft, chalk)
        if tip is not None:
            tips.append(tip)
    return _replace(outline, tips), tuple(tips)


def _tips(outline: Floats, centre_mm: Floats) -> list[int]:
    """Indices of the points farther out than all within `ALONE_MM` along the outline."""
    radius = smooth(np.hypot(*(outline - centre_mm).T)[:, None], 1.0)[:, 0]
    span = round(ALONE_MM / SPACING_MM)
    around = np.stack([np.roll(radius, s) for s in range(-span, span + 1)])
    return [int(k) for k in np.flatnonzero(radius >= around.max(0))]


def _mend(k: int, outline: Floats, window: Window, soft: Singles, chalk: Singles) -> Tip | None:
    """Put one tip right, or None where nothing better is known."""
    n = len(outline)
    near, far = round(FROM_MM / SPACING_MM), round(TO_MM / SPACING_MM)
    if n < 4 * far:
        return None
    out = normals(outline)
    sides = []
    for sign in (-1, 1):
        indices = (k + sign * np.arange(near, far + 1)) % n
        side = _side(outline[indices], outline[indices] + 0.4 * out[indices], window, chalk)
        if side is None:
            return None
        sides.append(side)
    (p, u), (q, v) = sides
    # Both directions point towards the tip; half their sum is the tip's axis.
    angle = np.degrees(np.arccos(np.clip(-float(u @ v) * -1, -1, 1)))
    if angle > SHARPEST_DEG or angle < 3:
        return None
    crossing = _crossing(p, u, q, v)
    axis = (u + v) / np.linalg.norm(u + v)
    beyond = float((crossing - outline[k]) @ axis)
    slope = 2 * np.tan(np.radians(angle) / 2)
    first, last = (k - near + 1) % n, (k + near - 1) % n
    if SMALL_MM < beyond < BEYOND_MM:
        went, hidden = _walk(crossing - beyond * axis, axis, beyond, slope, window, soft, chalk)
        if went <= 0:
            return None
        return Tip(first, last, crossing - (beyond - went) * axis, hidden)
    if -BACK_MM < beyond < -2 * SMALL_MM and _at(chalk, window, outline[k]) > 0.5:
        return Tip(first, last, crossing, 0.0)
    return None


def _side(points: Floats, beside: Floats, window: Window, chalk: Singles) -> tuple[Floats, Floats] | None:
    """A point of the side's line and its direction towards the tip; `points` run away from the tip."""
    free = _at(chalk, window, beside) < 0.5
    if free.mean() < FREE or free.sum() < 5:
        return None
    kept = points[free]
    middle = kept.mean(0)
    values, vectors = np.linalg.eigh(np.cov((kept - middle).T))
    if np.sqrt(max(values[0], 0)) > STRAIGHT_MM:
        return None
    direction = vectors[:, 1]
    return middle, direction * np.sign((points[0] - points[-1]) @ direction)


def _crossing(p: Floats, u: Floats, q: Floats, v: Floats) -> Floats:
    """Where the lines p + s u and q + t v cross."""
    s = np.linalg.solve(np.column_stack([u, -v]), q - p)[0]
    return np.asarray(p + s * u, float)


def _walk(
    start: Floats, axis: Floats, beyond: float, slope: float, window: Window, soft: Singles, chalk: Singles
) -> tuple[float, float]:
    """How far the tip's colour goes on from `start` along `axis`, and how much of that was hidden under a line."""
    across = np.array([-axis[1], axis[0]])
    t = np.arange(0, beyond + 1e-9, STEP_MM)
    width = slope * np.maximum(beyond - t, 0)
    way = start + t[:, None] * axis
    away = (width / 2 + 0.6)[:, None] * across
    seen = _at(soft, window, way)
    beside = (_at(soft, window, way + away) + _at(soft, window, way - away)) / 2
    own = _at(soft, window, start - 1.2 * axis)
    step = own - beside
    share = np.einsum("tc,tc->t", seen - beside, step) / np.maximum(np.einsum("tc,tc->t", step, step), 1e-4)
    expected = width / np.hypot(width, BLUR_MM)
    covered = (_at(chalk, window, way) > 0.5) | (_at(chalk, window, way + away) > 0.5)
    covered |= _at(chalk, window, way - away) > 0.5
    went, hidden = 0.0, 0.0
    for k in range(1, len(t)):
        if covered[k]:
            hidden += STEP_MM
        elif share[k] < max(SEEN * expected[k], 0.05):
            break
        else:
            hidden = 0.0
        went = float(t[k])
    return went - hidden / 2, hidden


def _at(image: Singles, window: Window, points_mm: Floats) -> Floats:
    """Values of an image of the window at panel points."""
    return np.asarray(sample(image, window.to_view(points_mm)), float)


def _replace(outline: Floats, tips: list[Tip]) -> Floats:
    """The outline going over the mended tips."""
    n = len(outline)
    keep = np.ones(n, bool)
    insert: dict[int, Floats] = {}
    for tip in tips:
        span = (tip.last - tip.first) % n
        inner = [(tip.first + i) % n for i in range(span + 1)]
        keep[inner] = False
        insert[inner[span // 2]] = tip.xy_mm
    points = []
    for i in range(n):
        if i in insert:
            points.append(insert[i])
        elif keep[i]:
            points.append(outline[i])
    return np.array(points)
