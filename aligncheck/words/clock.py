"""Where a spoke stands, as people say it: by the clock."""

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.units import clock

#: With more spokes than this two of them would share a half hour (15 degrees each).
MOST_BY_HALF_HOURS = 24

#: Rounding in one direction for all: a layout turned by exactly a quarter hour must not give one name to two spokes.
TIE_DEG = 0.01

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def spoke_positions(ideal_deg: ArrayLike, segments: int) -> tuple[str, ...]:
    """Names of the places at `ideal_deg` (n,) in a layout of `segments`, each its own.

    Up to 24 spokes go by the nearest half hour. With more, one that stands at the hour (within a quarter of the
    spacing) is "4 o'clock", the others are counted from the hour before: "the second spoke after 4".
    """
    angles = np.asarray(ideal_deg, float) % 360.0
    if segments <= MOST_BY_HALF_HOURS:
        return tuple(clock(a + TIE_DEG) for a in angles)
    return tuple(_counted(a, 360.0 / segments) for a in angles)


def _counted(angle_deg: float, spacing_deg: float) -> str:
    """Name one of many spokes by the hour before it; `spacing_deg` is the angle between neighbours."""
    reach = spacing_deg / 4 + TIE_DEG
    past = (angle_deg + reach) % 30.0 - reach
    hour = round((angle_deg - past) / 30.0) % 12 or 12
    if past <= reach:
        return f"{hour} o'clock"
    # The spoke at the hour, if there is one, is not counted.
    number = int(np.ceil((past - reach) / spacing_deg))
    return f"the {_ORDINALS[number - 1]} spoke after {hour}"
