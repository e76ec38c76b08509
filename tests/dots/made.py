"""Dots made from plain figures, with each thing that can be amiss, without measuring anything."""

from dataclasses import replace

import numpy as np

from aligncheck.dots import Arrangement, Dot, DotRing, Dots, Kind, Merged, Misplaced, MissingDot, OtherPaint, Paint, Run
from aligncheck.geometry.angles import outward

ORDER = 12
#: Rings by radius and diameter.
RINGS = ((30.0, 8.0), (38.1, 6.4), (62.0, 5.0))


def place(ring: int, segment: int) -> np.ndarray:
    """Where a dot stands; the centre lies off the panel's middle."""
    return np.array([1.0, -2.0]) + RINGS[ring][0] * outward(360 / ORDER * segment)


def even_dots() -> Dots:
    """Three rings of twelve, the first two a run, two paints; nothing amiss."""
    dots = tuple(
        Dot(place(ring, k), 0.2, size, 0.15, ring, k, False, np.zeros(3))
        for ring, (_, size) in enumerate(RINGS)
        for k in range(ORDER)
    )
    rings = tuple(
        DotRing(k + 1, (k,), radius, size, ORDER, ORDER, 7.0, 0.3, 8.1, 1.1, 105.0)
        for k, (radius, size) in enumerate(RINGS)
    )
    run = Run((0, 1, 2), (8.0, 6.4, 5.0), (0.9, 18.2), 0.8, 0.01, np.array([place(k, 0) for k in range(3)]))
    paints = (
        Paint(np.array([50.0, 55, 30]), "#c4383f", 24, "poppy", 2.0),
        Paint(np.array([80.0, 5, 60]), "#e7b338", 12),
    )
    arrangement = Arrangement(rings, (run,), (), (), paints, (0,) * 24 + (1,) * 12)
    kinds = tuple(Kind(radius, size, ORDER, ORDER) for radius, size in RINGS)
    return Dots(dots, (), kinds, ORDER, np.array([1.0, -2.0]), (), arrangement)


def amiss() -> Dots:
    """The same with one of each fault."""
    dots = even_dots()
    arrangement = dots.arrangement
    assert arrangement is not None
    made = list(dots.dots)
    gone = made.pop(2 * ORDER + 3)
    made[5] = replace(made[5], diameter_mm=10.4, oversize=True)
    ends = np.array([place(0, 8), place(1, 8)])
    found = replace(
        arrangement,
        misplaced=(Misplaced(2 * ORDER + 6, -0.2, 1.6, 0.2),),
        merged=(Merged((0, 1), ends.mean(0), ends, 6.1, 0.4),),
        other_paint=(OtherPaint(2, 1, 0),),
        paint_of=arrangement.paint_of[:-1],
    )
    missing = (MissingDot(gone.centre_mm, 5.0, 2, 3),)
    return replace(dots, dots=tuple(made), missing=missing, arrangement=found)
