"""A centre that is marked by a dot: of chalk, a compass's prick, a hole, a small sticker."""

from collections.abc import Iterator
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.marks.arms import STEP_MM, Patch

Floats = NDArray[np.float64]
Mask = NDArray[np.uint8]

#: Larger round things at the centre are no mark but lie there or are painted.
LARGEST_MM = 10.0
#: A chalk dot is about as wide as the chalk's stroke at least: crumbs are smaller. A prick is as wide as a needle.
LEAST_WIDTHS, LEAST_PRICK_MM = 0.8, 0.4
#: A dot stands out from the panel by this many standard deviations, and one of chalk by this part of a stroke's step.
DEVIATIONS, LEAST_STEP = 6.0, 0.15
#: A round dot's axes differ by less than this factor, and it fills its ellipse to within this part.
LONGEST, FILLED = 1.4, 0.15
#: The clear panel must be seen around so much of a dot.
SEEN_AROUND = 0.85
#: The grain of its rim moves the middle of a dot by this part of its width (chalk of 0.3 mm grain, half of it missing),
#: and the pixels leave this much.
OFF_SHARE, OFF_MM = 0.02, 0.03


class Dot(NamedTuple):
    """A round dot: where it lies from the patch's middle, along the patch and across it (2,), its width and sd, mm."""

    at_mm: Floats
    width_mm: float
    sd_mm: float


def find_dot(patch: Patch, stroke_mm: float, unit: float, most_mm: float) -> Dot | None:
    """The one round dot within `most_mm` of the middle of a square `patch`; None where there is none or several.

    `unit` is the step of a usual stroke. Of dots within each other the smallest counts: the prick in a sticker.
    """
    clear = patch.clear.astype(np.uint8)
    if clear.mean() < 0.2:
        return None
    ground = median(patch.values[patch.clear])
    noise = 1.4826 * median(np.abs(patch.values[patch.clear] - ground))
    least = DEVIATIONS * noise
    chalk = (1, max(least, LEAST_STEP * unit), LEAST_WIDTHS * stroke_mm)
    smooth = cv2.GaussianBlur(patch.values - ground, (0, 0), 1.0)
    dots = [
        dot
        for sign, level, narrowest in (chalk, (-1, least, LEAST_PRICK_MM))
        for dot in _round_ones(np.asarray(sign * smooth > level, np.uint8) & clear, clear)
        if narrowest < dot.width_mm < LARGEST_MM and np.hypot(*dot.at_mm) < most_mm
    ]
    dots.sort(key=lambda dot: dot.width_mm)
    if any(np.hypot(*(dot.at_mm - dots[0].at_mm)) > dot.width_mm / 2 for dot in dots):
        return None
    return dots[0] if dots else None


def _round_ones(mask: Mask, clear: Mask) -> Iterator[Dot]:
    """The round blobs of a mask, their holes filled."""
    outlines, _ = cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    middle = (np.array(mask.shape) - 1) / 2
    for outline in outlines:
        blob = np.zeros_like(mask)
        cv2.drawContours(blob, [outline], -1, 1, cv2.FILLED)
        rim = cv2.dilate(blob, np.ones((5, 5), np.uint8)) - blob
        rows, columns = np.nonzero(blob)
        if len(rows) < 9 or clear[rim > 0].mean() < SEEN_AROUND:
            continue
        places = np.column_stack([rows, columns])
        short, long = np.sqrt(np.linalg.eigvalsh(np.cov(places.T)))
        # An ellipse's area is 4 pi times the product of the standard deviations along its axes.
        filled = len(rows) / (4 * np.pi * max(short * long, 1e-9))
        if long < LONGEST * short and abs(filled - 1) < FILLED:
            width = float(np.sqrt(4 * len(rows) / np.pi)) * STEP_MM
            yield Dot((places.mean(0) - middle) * STEP_MM, width, float(np.hypot(OFF_MM, OFF_SHARE * width)))
