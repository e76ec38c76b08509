"""The same arrangement from several sides: the height at which all silhouettes have one plan."""

from collections.abc import Sequence
from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.centrepiece.plan import plan_of
from aligncheck.centrepiece.window import Floats

#: Steps of the height, mm; scale of the comparison, px per mm.
STEP_MM, SCALE = 0.5, 5.0
#: Silhouettes from two sides differ by this much at the right height, mm, mean over the outline: a piece hides some of
#: its own edges, and outlines are placed to a tenth or two.
AGREE_MM = 0.15


class Silhouette(NamedTuple):
    """Outline (n, 2) as seen and camera (3,), both in the common frame."""

    seen_mm: Floats
    camera_mm: Floats


def common_heights(views: Sequence[Silhouette], heights_mm: tuple[float, float]) -> tuple[float, float]:
    """The part of a range of heights in which the plans of all views agree about as well as they can."""
    if len(views) < 2 or heights_mm[0] >= heights_mm[1]:
        return heights_mm
    steps = max(2, round((heights_mm[1] - heights_mm[0]) / STEP_MM) + 1)
    heights = np.linspace(*heights_mm, steps)
    gaps = np.array([_gap(views, float(h)) for h in heights])
    good = heights[gaps <= gaps.min() + AGREE_MM]
    step = float(heights[1] - heights[0])
    return max(heights_mm[0], float(good.min()) - step / 2), min(heights_mm[1], float(good.max()) + step / 2)


def _gap(views: Sequence[Silhouette], height_mm: float) -> float:
    """Mean distance between the plans' outlines, mm: area of what not all share, over the length of the outline."""
    plans = [plan_of(v.seen_mm, v.camera_mm, height_mm) for v in views]
    low = np.min([p.min(0) for p in plans], axis=0) - 1
    width, height = np.ceil((np.max([p.max(0) for p in plans], axis=0) + 1 - low) * SCALE).astype(int)
    count = np.zeros((height, width), np.uint8)
    for plan in plans:
        mask = np.zeros_like(count)
        cv2.fillPoly(mask, [np.rint((plan - low) * SCALE * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
        count += mask
    odd = float(((count > 0) & (count < len(plans))).sum()) / SCALE**2
    length = float(np.hypot(*np.diff(np.vstack([plans[0], plans[0][:1]]), axis=0).T).sum())
    return odd / length
