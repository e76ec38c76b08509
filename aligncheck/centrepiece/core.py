"""Masks: what is thin, what is solid, what lies near the centre."""

import cv2
import numpy as np

from aligncheck.centrepiece.window import Mask, Singles

#: Strokes are thinner than this, mm; what an opening of this size leaves is not drawn.
STROKE_MM = 2.5
#: A piece lies about the centre: nearness falls off like a normal curve of this sd, mm.
NEAR_MM = 25.0


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
