"""Whiskers: thin parts of a silhouette that are no part of the piece, but wiped strokes or shade that run into it.

A piece ends at an edge, also at its tips; what was wiped or is shaded fades out. So a thin part stays only if the
colour steps at its border. Reach is a maximum: one whisker would ruin it.
"""

import cv2
import numpy as np

from aligncheck.centrepiece.core import opened
from aligncheck.centrepiece.window import Mask, Singles

#: What does not hold a disc of this size, mm, is thin; a thin part counts from this area on, mm^2.
THICK_MM, LEAST_MM2 = 5.0, 2.0
#: The border is looked at this far to both sides, mm, in steps; outside is judged from there on.
LOOK_MM, STEP_MM, OUT_MM = 1.6, 0.2, 1.0
#: Share of the whole step that lies within 0.4 mm at a piece's edge: lens, file and resampling blur it by 0.15 mm (sd),
#: which leaves three quarters; a wiped stroke fades over a millimetre and more: less than two fifths.
SHARP = 0.5
#: Fewer pixels than this in a step say nothing.
LEAST_PX = 5


def without_whiskers(mask: Mask, colours: Singles, lines: Mask, px_per_mm: float) -> Mask:
    """`mask` without its thin parts whose border fades.

    Parameters
    ----------
    colours : ndarray (h, w, 3)
        Cube-root colours.
    lines : ndarray (h, w) of bool
        Known lines: they say nothing of a border.
    """
    body = opened(mask, px_per_mm, THICK_MM)
    if not body.any():
        return mask
    number, labels, stats, _ = cv2.connectedComponentsWithStats((mask & ~body).astype(np.uint8), connectivity=8)
    kept = mask.copy()
    signed = _signed_mm(mask, px_per_mm)
    far_from_body = _signed_mm(body, px_per_mm) < -LOOK_MM
    for k in range(1, number):
        if stats[k, cv2.CC_STAT_AREA] < LEAST_MM2 * px_per_mm**2:
            continue
        room = int(np.ceil(LOOK_MM * px_per_mm)) + 1
        left, top, width, height = stats[k, :4]
        part = np.s_[max(top - room, 0) : top + height + room, max(left - room, 0) : left + width + room]
        own = labels[part] == k
        near = _signed_mm(own, px_per_mm) > -LOOK_MM
        asked = near & far_from_body[part] & ~lines[part] & (own | ~mask[part])
        if _fades(signed[part][asked], colours[part][asked]):
            kept[part] &= ~own
    return kept


def _fades(signed_mm: Singles, colours: Singles) -> bool:
    """Whether colours (n, 3) change slowly across the border, `signed_mm` (n,) within it."""
    steps = 2 * round(LOOK_MM / STEP_MM)
    step = np.clip(np.floor((signed_mm + LOOK_MM) / STEP_MM).astype(int), 0, steps - 1)
    count = np.bincount(step, minlength=steps)
    good = count >= LEAST_PX
    at = (np.arange(steps) + 0.5) * STEP_MM - LOOK_MM
    if not (good & (at <= -OUT_MM)).any() or not good[np.abs(at) < 0.5].all():
        return False
    means = np.column_stack([np.bincount(step, colours[:, c], steps) for c in range(3)]) / np.maximum(count, 1)[:, None]
    outside = np.average(means[at <= -OUT_MM], axis=0, weights=count[at <= -OUT_MM])
    inside = means[np.flatnonzero(good)[-1]]
    whole = inside - outside
    along = (means - outside) @ whole / max(float(whole @ whole), 1e-9)
    middle = np.flatnonzero(np.abs(at) < 0.7)
    rise = max(float(along[i + 1] - along[i - 1]) for i in middle if good[i - 1] and good[i + 1])
    return rise < SHARP


def _signed_mm(mask: Mask, px_per_mm: float) -> Singles:
    """Distance (h, w) from the mask's border, mm, positive within."""
    own = mask.astype(np.uint8)
    within = cv2.distanceTransform(own, cv2.DIST_L2, 5)
    beyond = cv2.distanceTransform(1 - own, cv2.DIST_L2, 5)
    return np.asarray(np.where(mask, within - 0.5, 0.5 - beyond) / px_per_mm, np.float32)
