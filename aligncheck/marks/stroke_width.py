"""How wide a usual stroke is, from the mean profile across the strongest spokes."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel

Floats = NDArray[np.float64]

HALF_MM, STEP_MM = 6.0, 0.1
#: No painter's mark is thinner or wider.
THINNEST_MM, WIDEST_MM = 0.3, 4.0
ROUNDS = 4


def stroke_width(
    grey: NDArray[np.uint8],
    panel: Panel,
    centre_mm: Floats,
    directions_deg: Floats,
    strengths: Floats,
    reach_mm: float,
    light: bool,
) -> float:
    """Full width at half height in mm of the mean profile of the strongest spokes' rows."""
    order = np.argsort(-strengths)[: max(3, len(strengths) // 2)]
    chosen = directions_deg[order][np.isfinite(directions_deg[order])]
    radii = np.arange(0.35 * reach_mm, 0.9 * reach_mm, max(1.0, reach_mm / 60))
    points = centre_mm + radii[None, :, None] * outward(chosen)[:, None]
    normals = np.broadcast_to(clockwise(chosen)[:, None], points.shape)
    offsets = np.arange(-HALF_MM, HALF_MM + STEP_MM / 2, STEP_MM)
    rows = sample_rows(grey, panel, points.reshape(-1, 2), normals.reshape(-1, 2), offsets)
    rows = rows if light else -rows
    rows = rows - medians(rows, 1)[:, None]
    width = 0.7
    for _ in range(ROUNDS):
        # A box as wide as the stroke finds its middle; a narrower one finds any place on it.
        width = float(np.clip(_width_at_half(_recentred(rows, width)), THINNEST_MM, WIDEST_MM))
    return width


def _recentred(rows: NDArray[np.float32], box_mm: float) -> Floats:
    """Median of the stronger half of the rows, each moved so that its strongest `box_mm` is in the middle.

    The median, because dots of paint may lie on the others.
    """
    box = 2 * round(box_mm / STEP_MM / 2) + 1
    smooth = cv2.blur(rows, (box, 1))
    middle = rows.shape[1] // 2
    reach = middle // 2
    tops = smooth[:, middle - reach : middle + reach + 1].argmax(1) - reach
    height = smooth[np.arange(len(rows)), tops + middle]
    keep = height >= median(height)
    columns = middle + np.arange(-reach, reach + 1)
    return np.asarray(medians(rows[np.nonzero(keep)[0][:, None], columns + tops[keep][:, None]], 0), float)


def _width_at_half(profile: Floats) -> float:
    """Distance in mm between the half-height crossings on both sides of the middle."""
    middle = len(profile) // 2
    base = float(quantile(profile, 0.2))
    half = base + (profile[middle - 1 : middle + 2].mean() - base) / 2
    width = 0.0
    for side in (profile[middle:], profile[middle::-1]):
        below = np.nonzero(side < half)[0]
        if not len(below):
            return WIDEST_MM
        k = int(below[0])
        width += (k - 1 + (side[k - 1] - half) / max(side[k - 1] - side[k], 1e-6)) * STEP_MM if k else 0.0
    return width
