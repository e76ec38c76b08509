"""Where a hand aimed: what spokes and rings together say of a centre whose own mark is seen in part."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.student import widening
from aligncheck.marks.marks import Ring

Floats = NDArray[np.float64]

#: A stencil or a compass is set to about this by eye, mm: a ring that is known worse by itself counts for less.
HAND_MM = 0.3
#: Fewer rings than this do not tell their own scatter.
LEAST_RINGS = 3


def aimed_at(meeting_mm: Floats, aimed: Floats, rings: Sequence[Ring]) -> tuple[Floats, Floats]:
    """The point (2,) that spokes and rings were set about, and its covariance (2, 2) in mm^2.

    `meeting_mm` (2,), to `aimed` (2, 2), is what the spokes say. Each ring is set from the centre anew, so that the
    rings' own centres scatter about it as the spokes do, and independently of them.
    """
    if len(rings) < LEAST_RINGS:
        return meeting_mm, aimed
    centres = np.array([ring.centre_mm for ring in rings])
    weights = np.array([1 / (np.trace(ring.covariance[1:, 1:]) / 2 + HAND_MM**2) for ring in rings])
    weights /= weights.sum()
    middle = weights @ centres
    squares = float(weights @ weights)
    scatter = float(weights @ np.square(centres - middle).sum(1)) / 2 / (1 - squares)
    # Student's t, expressed as the normal deviate that covers the same 95 %.
    variance = max(scatter * squares * widening(2 * (len(rings) - 1)) ** 2, 1e-9)
    by_spokes = np.linalg.inv(aimed)
    covariance = np.linalg.inv(by_spokes + np.eye(2) / variance)
    return np.asarray(covariance @ (by_spokes @ meeting_mm + middle / variance), float), np.asarray(covariance, float)
