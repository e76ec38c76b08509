"""Rings that repeat in another count than the whole: eight petals in the middle of twelve spokes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Ring
from aligncheck.repeat.turning import MULTIPLE_SHARE, ORDERS, RADIUS_STEP_MM

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: A zone is looked at over so much of the radius at once, mm, and is at least so wide: about a dot.
OVER_MM, LEAST_MM = 5.0, 3.0
#: Another count is believed where it is this likely, and the whole's own comes to less than this share of that: a dot
#: missing in one of six segments leaves nine tenths.
LEAST_LIKENESS, OWN_SHARE = 0.6, 0.65
#: Fewer are the square panel's own: its corners, diagonals and middle lines.
COUNTS = range(5, ORDERS[-1] + 1)
#: Chalk rings stop at a stencil's bridges, which have a count of their own: so much beside them tells nothing, mm.
BESIDE_RING_MM = 1.5
#: Less drawing than this share of what is usual on a circle tells nothing.
LEAST_DRAWN = 0.15
#: Stands for the count of a circle where hardly anything is drawn.
UNDRAWN = -1


@dataclass(frozen=True)
class Zone:
    """From `inner_mm` to `outer_mm` from the centre the design repeats `order` times."""

    inner_mm: float
    outer_mm: float
    order: int


def other_zones(
    radii: Floats, circles: Singles, order: int, centre_mm: Floats, rings: Sequence[Ring] = ()
) -> tuple[Zone, ...]:
    """Find where a pattern on circles (n, angles, channels) of `radii` (n,) has another count than `order`."""
    power = (np.abs(np.fft.rfft(circles, axis=1)) ** 2).sum(2)
    power[:, 0] = 0
    for ring in rings:
        off = float(np.hypot(*(ring.centre_mm - centre_mm)))
        power[np.abs(radii - ring.radius_mm) < BESIDE_RING_MM + off + ring.width_mm / 2] = 0
    width = round(OVER_MM / RADIUS_STEP_MM)
    window = np.ones(width)
    power = np.apply_along_axis(np.convolve, 0, power, window, "same")
    total = power.sum(1)
    drawn = total > LEAST_DRAWN * np.median(total[total > 0]) if (total > 0).any() else np.zeros(len(radii), bool)
    likeness = np.stack([_likeness(power, total, n) for n in COUNTS])
    highest, own = likeness.max(0), _likeness(power, total, order)
    # What repeats N times also repeats N/2 times; the largest of such counts is meant.
    most = len(COUNTS) - 1 - (likeness >= MULTIPLE_SHARE * highest)[::-1].argmax(0)
    best = np.asarray(COUNTS)[most]
    other = drawn & (highest > LEAST_LIKENESS) & (own < OWN_SHARE * highest)
    return _joined(radii, np.where(other, best, np.where(drawn, 0, UNDRAWN)))


def _likeness(power: Floats, total: Floats, order: int) -> Floats:
    """Mean correlation (n,) over the turns of an order: what repeats so often has only its multiples' frequencies."""
    share = power[:, ::order].sum(1) / np.maximum(total, 1e-12)
    return (order * share - 1) / (order - 1)


def _joined(radii: Floats, counts: NDArray[np.intp]) -> tuple[Zone, ...]:
    """Neighbouring circles of one count, across those where hardly anything is drawn."""
    told = np.flatnonzero(counts != UNDRAWN)
    counts = counts.copy()
    for before, after in pairwise(told):
        if counts[before] == counts[after]:
            counts[before:after] = counts[before]
    found: list[Zone] = []
    starts = np.flatnonzero(np.diff(counts, prepend=-1))
    for start, stop in zip(starts, [*starts[1:], len(counts)], strict=True):
        inner, outer = radii[start] - RADIUS_STEP_MM / 2, radii[stop - 1] + RADIUS_STEP_MM / 2
        if counts[start] > 0 and outer - inner >= LEAST_MM:
            found.append(Zone(float(inner), float(outer), int(counts[start])))
    return tuple(found)
