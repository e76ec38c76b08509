"""Dots off their place: farther than the hand's own evenness explains."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrangement import Misplaced
from aligncheck.dots.dots import Dots
from aligncheck.dots.places import Places, off_place

Floats = NDArray[np.float64]

#: Nobody sets dots more evenly than this, mm, and nobody sees less than this amiss.
LEAST_SPREAD_MM, LEAST_MM = 0.15, 1.0
#: So many times the hand's own spread: of five hundred even dots one goes beyond it on one piece in six.
SPREADS = 4.0


def misplaced(dots: Dots, places: Places, least_mm: float = LEAST_MM) -> tuple[Misplaced, ...]:
    """Dots that lie off their place by more than `least_mm`, surely, and than the hand's own evenness; worst first."""
    off = off_place(dots, places)
    known = np.flatnonzero(~np.isnan(off[:, 0]))
    if len(known) < 3:
        return ()
    arms = np.hypot(*(np.array([dots.dots[i].centre_mm for i in known]) - dots.centre_mm).T)
    spread = np.column_stack([_spread(arms, off[known, axis]) for axis in (0, 1)])
    beyond = np.hypot(*(off[known] / spread).T)
    u95 = np.array([dots.dots[i].centre_u95_mm for i in known])
    far = np.hypot(*off[known].T)
    wrong = np.flatnonzero((beyond > SPREADS) & (far - u95 > least_mm))
    found = [Misplaced(int(known[i]), float(off[known[i], 0]), float(off[known[i], 1]), float(u95[i])) for i in wrong]
    return tuple(sorted(found, key=lambda one: -float(np.hypot(one.clockwise_mm, one.outward_mm))))


def _spread(arm_mm: Floats, off_mm: Floats) -> Floats:
    """Spread (n,) of a hand at each distance from the centre: sd^2 = a^2 + (b arm)^2, by medians.

    The median of a squared Gaussian is 0.455 of its variance; least squares on ranked groups keep outliers out.
    """
    groups = np.array_split(np.argsort(arm_mm), min(max(len(arm_mm) // 12, 1), 24))
    arm2 = np.array([np.mean(arm_mm[g] ** 2) for g in groups])
    variance = np.array([np.median(off_mm[g] ** 2) for g in groups]) / 0.455
    a2, b2 = float(np.mean(variance)), 0.0
    if len(groups) > 2:
        design = np.column_stack([np.ones_like(arm2), arm2])
        a2, b2 = np.linalg.lstsq(design, variance, rcond=None)[0]
        if b2 < 0:
            a2, b2 = float(np.mean(variance)), 0.0
        a2 = max(a2, 0.0)
    return np.asarray(np.sqrt(np.maximum(a2 + b2 * arm_mm**2, LEAST_SPREAD_MM**2)), float)
