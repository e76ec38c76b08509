"""Whether four points could be the corners of a W x H rectangle in front of this camera."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.projective import apply_homography
from aligncheck.geometry.small import cross
from aligncheck.panel.panel import Panel

Floats = NDArray[np.float64]


def shape_misfit(panel: Panel, corners_mm: Floats) -> tuple[Floats, Floats]:
    """Log ratio and cosine (m,) of the axes that outlines (m, 4, 2) in `panel`'s frame would have as W x H rectangles.

    The map of a rectangle has two columns that are its axes in space; through the right camera they are equally long
    (per mm) and at right angles.
    """
    seen = apply_homography(panel.panel_to_photo, corners_mm)
    first, second = axes(seen, panel.width_mm, panel.height_mm)
    one, two = np.linalg.norm(first, axis=-1), np.linalg.norm(second, axis=-1)
    return np.log(one / two), (first * second).sum(-1) / (one * two)


def axes(seen: Floats, width_mm: float, height_mm: float) -> tuple[Floats, Floats]:
    """The two axes (m, 3) per mm, in one unknown scale, of rectangles whose corners are seen at (m, 4, 2) normalised.

    With rays p_i and depths d_i, p0 - d1 p1 + d2 p2 - d3 p3 = 0 (a parallelogram): depths by Cramer's rule.
    """
    p = np.concatenate([seen, np.ones((*seen.shape[:2], 1))], axis=-1)
    p0, p1, p2, p3 = (p[:, k] for k in range(4))
    whole = _volume(p1, p2, p3)
    whole = np.where(np.abs(whole) > 1e-12, whole, 1e-12)
    d1, d3 = _volume(p0, p2, p3) / whole, _volume(p1, p2, p0) / whole
    return (d1[:, None] * p1 - p0) / width_mm, (d3[:, None] * p3 - p0) / height_mm


def _volume(a: Floats, b: Floats, c: Floats) -> Floats:
    return np.asarray((a * cross(b, c)).sum(-1), float)
