"""How likely a kind of circle is one of dots, and not of grains, crossings and bits of chalk lines or of borders.

Nothing decides alone. What one look says changes by a little as the panel's map moves by hundredths of a millimetre; a
kind that one of them puts beyond a limit and back again would come and go with it. So each look says how much it speaks
for dots or against them, and their sum decides.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import colours_inside
from aligncheck.dots.chalk import Chalk
from aligncheck.dots.choice import MATE_EVIDENCE, Traits, middles, traits
from aligncheck.dots.closed import open_arcs
from aligncheck.dots.line_bits import line_bits
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

Floats = NDArray[np.float64]

#: From this diameter on size says no more against a grain or a crossing of chalk, mm: lines are about 1 mm wide.
GRAIN_MM = 2.2
#: A colour is chalk's within this share of its strength; a kind lies on the very middle of known lines within so many
#: mm (median): a hand sets dots a few tenths off.
CHALKY, ON_LINE_MM = 0.35, 0.15


def evidence(view: DotView, slots: Slots, chalk: Chalk, centre_mm: Floats) -> Floats:
    """Log odds (orbits,) that the circles of each orbit are dots.

    Weights from a logistic fit, rounded, over the orbits of 11 painted photos and 32 drawn pieces, each read on two to
    four maps that differ by 0.03 mm: 2245 of dots and 3943 of something else, each counted once. How many places are
    filled counts for less than was fitted, for a piece may be half painted. Each piece left out of the fit in turn, 15
    kinds were taken for what they are not, by separate limits 26.

    Parameters
    ----------
    centre_mm : ndarray (2,)
        What the design turns about.
    """
    odds, chalky = _by_themselves(traits(slots)), _chalky(view, slots, chalk)
    odds -= 8 * chalky * _on_line(slots, chalk)
    # What takes time is asked of those only that it can decide.
    asked = _undecided(odds, 9.0)
    odds[asked] -= 9 * open_arcs(view, slots.of(asked), centre_mm)
    asked = _undecided(odds, 5.5 * chalky)
    odds[asked] -= 5.5 * chalky[asked] * line_bits(view, slots.of(asked), chalk.width_mm, centre_mm)
    return odds


def _undecided(odds: Floats, against: Floats | float) -> NDArray[np.int64]:
    """Which orbits are believed or not by whether up to so much more is found against them."""
    return np.flatnonzero((odds > -MATE_EVIDENCE) & (odds - against <= 0))


def _by_themselves(t: Traits) -> Floats:
    """Log odds (orbits,) by what the circles show, their rims closed and nowhere near chalk.

    Grains are rough, small, seldom whole, hardly more painted inside than outside, and fill most but not all places.
    """
    return np.asarray(
        5.2
        + 12 * (0.67 - t.roughness)
        + 10 * (t.filled - 0.95)
        + 3 * (np.minimum(t.diameter_mm, GRAIN_MM) - 1.3)
        + 6 * np.log(np.maximum(t.figure, 0.01) / 0.2)
        + 5.5 * (0.35 - t.off_mm),
        float,
    )


def _chalky(view: DotView, slots: Slots, chalk: Chalk) -> Floats:
    """How much (orbits,) each is of chalk's own colour, 0 to 1."""
    unlike = middles(slots, chalk.unlike(colours_inside(view, slots.circles.rims, view.unlike_the_panel)))
    return np.asarray(1 / (1 + (unlike / CHALKY) ** 4), float)


def _on_line(slots: Slots, chalk: Chalk) -> Floats:
    """How near (orbits,) each lies to the very middle of known lines, 0 to 1."""
    apart = middles(slots, _to_the_middle(chalk).distance_mm(slots.circles.xy_mm))
    return np.asarray(1 / (1 + (apart / ON_LINE_MM) ** 2), float)


def _to_the_middle(chalk: Chalk) -> Chalk:
    """The known lines with every spoke run on inward to where it passes the centre: paint may hide where it began."""
    way = chalk.inner_mm - chalk.outer_mm
    length = np.maximum(np.hypot(*way.T), 1e-9)
    foot = np.maximum(-(chalk.outer_mm * way).sum(1) / length, length)
    return replace(chalk, inner_mm=chalk.outer_mm + (foot / length)[:, None] * way)
