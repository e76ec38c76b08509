"""What is amiss with dots, each as the drawing needs it: where, what is circled, and what its figure says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots import Dots
from aligncheck.geometry.angles import clockwise, outward
from aligncheck.words import phrases
from aligncheck.words.dots import (
    BIG_NAME,
    MERGED_NAME,
    MISSING_NAME,
    OFF_NAME,
    OTHER_NAME,
    arrangement_of,
    excess_mm,
    place,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fault:
    """One fault.

    Attributes
    ----------
    name : str
        What the legend calls it.
    at_mm : ndarray (2,)
        Where its line begins.
    diameter_mm : float
        Of the circle there.
    figure, tail : str
        The plate's main line; `has_mm` says whether mm stands between them.
    place : str
        By the clock.
    weight : float
        How much it matters, mm.
    drawn : tuple of (ndarray (2,), float)
        Dots that are circled as drawn amiss, each with its diameter.
    plan_mm : ndarray (2,) or None
        Where a dot belongs.
    dots : int
        How many of the painted dots are amiss.
    """

    name: str
    at_mm: Floats
    diameter_mm: float
    figure: str
    place: str
    weight: float
    tail: str = ""
    has_mm: bool = False
    u95_mm: float | None = None
    drawn: tuple[tuple[Floats, float], ...] = ()
    plan_mm: Floats | None = None
    dots: int = 1

    @property
    def plan_only(self) -> bool:
        """Whether only the plan is drawn: nothing is there to act on."""
        return not self.drawn


def faults_of(dots: Dots) -> tuple[Fault, ...]:
    """All faults of all dots."""
    return (*_missing(dots), *_too_big(dots), *_together(dots))


def _missing(dots: Dots) -> list[Fault]:
    return [
        Fault(
            MISSING_NAME, gap.centre_mm, gap.diameter_mm, MISSING_NAME, place(dots, gap.centre_mm)[0], gap.diameter_mm,
            plan_mm=gap.centre_mm, dots=0,
        )
        for gap in dots.missing
    ]  # fmt: skip


def _too_big(dots: Dots) -> list[Fault]:
    found = []
    for dot in dots.oversize:
        more = excess_mm(dots, dot)
        found.append(
            Fault(
                BIG_NAME, dot.centre_mm, dot.diameter_mm, phrases.mm(more), place(dots, dot.centre_mm)[0], more,
                tail=BIG_NAME, has_mm=True, u95_mm=dot.diameter_u95_mm, drawn=((dot.centre_mm, dot.diameter_mm),),
            )
        )  # fmt: skip
    return found


def _together(dots: Dots) -> list[Fault]:
    """What follows from how the dots stand together."""
    a = arrangement_of(dots)
    found = []
    for one in a.merged:
        wide = float(np.hypot(*(one.ends_mm[1] - one.ends_mm[0]))) + one.neck_mm
        where = place(dots, one.middle_mm)[0]
        found.append(
            Fault(
                MERGED_NAME, one.middle_mm, wide, MERGED_NAME, where, wide / 2, drawn=((one.middle_mm, wide),), dots=2
            )
        )
    for off in a.misplaced:
        dot = dots.dots[off.dot]
        arm = dot.centre_mm - dots.centre_mm
        angle = float(np.degrees(np.arctan2(arm[0], -arm[1])))
        home = dot.centre_mm - off.clockwise_mm * clockwise(angle) - off.outward_mm * outward(angle)
        far = float(np.hypot(off.clockwise_mm, off.outward_mm))
        found.append(
            Fault(
                OFF_NAME, dot.centre_mm, dot.diameter_mm, phrases.mm(far), place(dots, dot.centre_mm)[0], far,
                tail="off", has_mm=True, u95_mm=off.u95_mm, drawn=((dot.centre_mm, dot.diameter_mm),), plan_mm=home,
            )
        )  # fmt: skip
    for other in a.other_paint:
        dot = dots.dots[other.dot]
        where = place(dots, dot.centre_mm)[0]
        drawn = ((dot.centre_mm, dot.diameter_mm),)
        found.append(
            Fault(OTHER_NAME, dot.centre_mm, dot.diameter_mm, OTHER_NAME, where, dot.diameter_mm / 4, drawn=drawn)
        )
    return found
