"""How often the dots themselves repeat, where that is less often than the marks do.

Where every other segment is painted differently, the dots repeat half as often as the spokes; and rows of dots half way
between spokes are easily counted as spokes. Of kinds that have a dot in every other segment only, half the places are
bare, and none of them can be told to be missing one.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.measured import Measured
from aligncheck.dots.orbits import Orbit, gather, turns
from aligncheck.dots.support import GATE, OFF_PLACE_MM, kind_of
from aligncheck.geometry.near import Near

Bools = NDArray[np.bool_]

#: Circles that are plainly dots, whatever repeats: share of the rim, roughness, figure, contrast in units of noise.
PLAIN_COVERAGE, PLAIN_ROUGHNESS, PLAIN_FIGURE, PLAIN_CONTRAST = 0.9, 0.6, 0.1, 6.0
#: A kind is whole with so large a share of its places, and absent from the segments between with less than this.
WHOLE, BETWEEN = 0.75, 0.25
#: Another order must explain at least one kind more than this one, and so large a share of all dots.
GAIN = 0.02
#: Fewer segments than this happen by chance.
LEAST = 4


def own_order(found: Measured, order: int, same_colour: float) -> int:
    """`order`, or the part of it that the circles `found`, from the centre, repeat by."""
    plain = plainly_round(found)
    whole = [orbit for orbit in _orbits(plain, order, same_colour) if orbit.count >= WHOLE * order]
    explained = np.zeros(len(plain), bool)
    for orbit in whole:
        explained[orbit.members[orbit.members >= 0]] = True
    rest = plain.take(~explained)
    for part in range(2, order // LEAST + 1):
        fewer = order // part
        if order % part or len(rest) < max(fewer, GAIN * len(plain)):
            continue
        between = _Between(found, order, part, same_colour)
        new = [orbit for orbit in _orbits(rest, fewer, same_colour) if orbit.count >= WHOLE * fewer]
        if sum(orbit.count for orbit in new if between.absent(orbit)) >= max(fewer, GAIN * len(plain)):
            return own_order(found, fewer, same_colour)
    return order


def plainly_round(circles: Measured) -> Measured:
    """Those of the circles that are round things whatever repeats."""
    return circles.take(
        (circles.coverage >= PLAIN_COVERAGE)
        & (circles.roughness <= PLAIN_ROUGHNESS)
        & (circles.figure >= PLAIN_FIGURE)
        & (circles.contrast >= PLAIN_CONTRAST)
    )


def _orbits(circles: Measured, order: int, same_colour: float) -> list[Orbit]:
    return gather(circles.xy_mm, circles.radius_mm, circles.colour, circles.quality, order, same_colour)


class _Between:
    """What lies in the segments between those of a `part` of the order."""

    def __init__(self, found: Measured, order: int, part: int, same_colour: float) -> None:
        self.near = Near(found.xy_mm)
        self.kinds = kind_of(found.radius_mm, found.colour, same_colour)
        self.same_colour = same_colour
        self.turns = turns(order)[np.arange(order) % part > 0]

    def absent(self, orbit: Orbit) -> bool:
        """Whether hardly any dot like those of the orbit lies there."""
        kind = kind_of(np.array([orbit.radius_mm]), orbit.colour[None], self.same_colour)
        place, which, apart = self.near.pairs(self.turns @ orbit.place_mm[0], GATE * OFF_PLACE_MM)
        unlike = np.sqrt(apart**2 + ((self.kinds[which] - kind) ** 2).sum(1))
        return len(np.unique(place[unlike < GATE * OFF_PLACE_MM])) < BETWEEN * len(self.turns)
