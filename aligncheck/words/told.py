"""What the words name by itself: places that need not be told once more as unlike the other segments."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.repeat.repeat import Departure
from aligncheck.words.seen import Seen

Floats = NDArray[np.float64]

#: A place this near to what is told already, mm beyond its rim, is the same.
NEAR_MM = 3.0


def untold(check: Seen) -> tuple[Departure, ...]:
    """The departures that neither a dot nor a petal explains that is named as amiss."""
    repeat = getattr(check, "repeat", None)
    if repeat is None:
        return ()
    told = _told(check)
    return tuple(one for one in repeat.departures if not _is_told(one, told))


def _told(check: Seen) -> list[tuple[Floats, float]]:
    """Middles and radii, mm."""
    rows, dots = getattr(check, "rows", None), getattr(check, "dots", None)
    # A short petal departs from its tip to where the tip belongs.
    told = [(p.tip_mm, p.inward_mm) for p in (rows.short if rows is not None else ())]
    if dots is None:
        return told
    from aligncheck.words.dots import arrangement_of

    a = arrangement_of(dots)
    told += [(one.centre_mm, one.diameter_mm / 2) for one in (*dots.missing, *dots.oversize)]
    amiss = [one.dot for one in a.misplaced] + [one.dot for one in a.other_paint]
    told += [(dots.dots[k].centre_mm, dots.dots[k].diameter_mm / 2) for k in amiss]
    return told + [(m.middle_mm, float(np.hypot(*(m.ends_mm[1] - m.ends_mm[0]))) / 2) for m in a.merged]


def _is_told(one: Departure, told: list[tuple[Floats, float]]) -> bool:
    return any(float(np.hypot(*(one.place_mm - middle))) < radius + NEAR_MM for middle, radius in told)
