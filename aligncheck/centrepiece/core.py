"""The core: a large thing unlike the panel near its centre, found on a coarse view."""

import cv2
import numpy as np

from aligncheck.centrepiece.window import Floats, Mask, Singles, Window

#: Strokes are thinner than this, mm; what an opening of this size leaves is not drawn.
STROKE_MM = 2.5
#: Unlike the panel: this far from its colour, or so many times the bare panel's own median distance (grain, weave).
UNLIKE, NOISE_TIMES = 0.05, 5.0
#: A piece lies about the centre: nearness falls off like a normal curve of this sd, mm.
NEAR_MM = 25.0


def unlike_limit(distance: Singles) -> tuple[float, float]:
    """From which distance on a colour is not the panel's, and the panel's own typical distance."""
    noise = float(np.median(distance))
    return max(UNLIKE, min(NOISE_TIMES * noise, 2 * UNLIKE)), noise


def find_core(window: Window, unlike: Mask, centre_mm: Floats, lines: Mask) -> Mask | None:
    """The largest thing near the centre, or None where all that differs is thin or lies on known lines."""
    solid = opened(unlike, window.px_per_mm, STROKE_MM)
    number, labels = cv2.connectedComponents(solid.astype(np.uint8), connectivity=4)
    if number < 2:
        return None
    near = np.exp(-0.5 * (window.radius_mm(centre_mm) / NEAR_MM) ** 2) * ~lines
    weight = np.bincount(labels.ravel(), near.ravel(), number)
    weight[0] = 0
    best = int(weight.argmax())
    return labels == best if weight[best] > 0 else None


def opened(mask: Mask, px_per_mm: float, size_mm: float) -> Mask:
    """What of `mask` holds a disc of `size_mm` across."""
    kernel = disc(size_mm * px_per_mm)
    return cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel) > 0


def grown(mask: Mask, px_per_mm: float, by_mm: float) -> Mask:
    """`mask` grown by `by_mm`, shrunk where that is negative."""
    kernel = disc(2 * abs(by_mm) * px_per_mm)
    work = cv2.dilate if by_mm > 0 else cv2.erode
    return work(mask.astype(np.uint8), kernel) > 0


def disc(across_px: float) -> np.ndarray:
    """A filled disc so many pixels across, as OpenCV's morphology takes it."""
    size = max(1, round(across_px)) // 2 * 2 + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))


def largest_near(mask: Mask, weight: Singles) -> Mask | None:
    """The connected part of `mask` that holds most of `weight`."""
    number, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=4)
    if number < 2:
        return None
    share = np.bincount(labels.ravel(), weight.ravel(), number)
    share[0] = -1
    return labels == int(share.argmax())
