"""From circles to dots: what they turn about, which are one another's like, and which of them can be believed."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.arrange import arranged
from aligncheck.dots.candidates import grown, refined
from aligncheck.dots.chalk import Chalk, chalk_of
from aligncheck.dots.choice import LEAST_PX, choose, standing
from aligncheck.dots.domes import whole
from aligncheck.dots.dots import Dots
from aligncheck.dots.evidence import evidence
from aligncheck.dots.judge import judge
from aligncheck.dots.lone import lone_circles
from aligncheck.dots.measured import Measured, measured
from aligncheck.dots.orbits import gather
from aligncheck.dots.own_order import own_order, plainly_round
from aligncheck.dots.pivot import find_pivot
from aligncheck.dots.rims import Rims
from aligncheck.dots.second import unclaimed, with_domes
from aligncheck.dots.sitting import sit
from aligncheck.dots.slots import Slots, fill
from aligncheck.dots.support import believed, support
from aligncheck.dots.tops import on_others, with_tops
from aligncheck.dots.view import DotView
from aligncheck.dots.votes import folded_seeds
from aligncheck.geometry.near import Near
from aligncheck.marks import Marks
from aligncheck.photo import Photo
from aligncheck.side_by_side import beside

Floats = NDArray[np.float64]

#: Paint of one pot differs by this in the photo: light and shade across a panel (gamma-coded values, 0 to 1).
SAME_COLOUR = 0.06
#: Less contrast than this (in units of the panel's noise) and less of a rim than this is no circle to begin with.
LEAST_CONTRAST, LEAST_FIGURE = 3.0, 0.03
#: Two of a kind lie anywhere.
LEAST_DOTS = 3
#: Of what is plainly round so large a share must be dots of a kind, else likeness is chance: letters on a page that are
#: like others came to 1 to 9 %, dots on the hardest of three drawn pieces, red on red, to 42 %.
LEAST_OF_ROUND = 0.2
#: From this code on a photo's white is clipped.
WHITE = 250


def dots_among(
    first: Rims, view: DotView, photo: Photo, marks: Marks, order: int, centre: Floats, oversize: float
) -> Dots | None:
    """The dots among circles that colours told, and among those that edges tell; None where there are none.

    Parameters
    ----------
    first : Rims
        In the view.
    centre : ndarray (2,)
        What the design turns about, roughly.
    """
    every = measured(view, first, np.zeros(2))
    pivot = find_pivot(every.xy_mm, every.radius_mm, every.colour, every.quality, order, centre, SAME_COLOUR)
    centre = centre if pivot is None else pivot.xy_mm
    found = circles(view, every.about(centre), centre, order)
    order = own_order(found, order, SAME_COLOUR)
    folded = beside(lambda: measured(view, grown(view, folded_seeds(view, centre, order)), centre))
    chalk = chalk_of(view, marks, centre)
    slots = kinds(view, found, chalk, centre, order)
    rest = unclaimed(folded(), slots)
    if len(rest):
        slots = with_domes(view, slots, circles(view, rest, centre, order), centre, order)
    if slots is None or _by_chance(found, slots):
        # Round things that repeat nowhere may be anything: letters, coins, pebbles.
        return None
    slots, on = with_tops(view, slots, centre, lambda places: _clipped(photo, marks.panel.to_photo(places)))
    dots = judge(view, slots, lone_circles(found, slots), order, centre, oversize)
    return arranged(on_others(dots, on), photo, marks.panel, view, chalk)


def _clipped(photo: Photo, px: Floats) -> NDArray[np.bool_]:
    """Whether a photo is white at pixels (n, 2), as far as it can show."""
    x, y = (np.rint(at).astype(int) for at in px.T)
    x, y = np.clip(x, 0, photo.rgb.shape[1] - 1), np.clip(y, 0, photo.rgb.shape[0] - 1)
    return np.asarray(photo.rgb[y, x].min(-1) >= WHITE, bool)


def _by_chance(found: Measured, slots: Slots) -> bool:
    """Whether hardly any of the plainly round circles lie on the dots of kinds."""
    # Of what the photo shows too small for any kind nothing is said either way.
    round_ones = plainly_round(found.take(2 * found.rims.r >= LEAST_PX))
    dots = slots.circles.take(np.flatnonzero(slots.filled))
    if not len(round_ones):
        return False
    which, dot, apart = Near(dots.xy_mm).pairs(round_ones.xy_mm, float(dots.radius_mm.max(initial=0.0)))
    on = np.unique(which[apart < dots.radius_mm[dot]])
    return len(on) < LEAST_OF_ROUND * len(round_ones)


def circles(view: DotView, every: Measured, centre: Floats, order: int) -> Measured:
    """Circles that do not overlap, best first, refined."""
    every = every.take((every.contrast > LEAST_CONTRAST) & (every.figure > LEAST_FIGURE))
    alike = support(every.xy_mm, every.radius_mm, every.colour, every.coverage, order, SAME_COLOUR)
    # Of a dot and its highlight, the larger.
    kept = believed(every.rims, (0.02 + alike) * every.quality * every.radius_mm**0.3)
    return measured(view, refined(view, every.rims.take(kept)), centre)


def kinds(view: DotView, found: Measured, chalk: Chalk, centre: Floats, order: int) -> Slots | None:
    """The places of all kinds of dots that can be believed; None where there are none."""
    orbits = gather(found.xy_mm, found.radius_mm, found.colour, found.quality, order, SAME_COLOUR)
    orbits = [orbit for orbit in orbits if orbit.count >= LEAST_DOTS]
    if not orbits:
        return None
    slots = fill(view, orbits, found, centre)
    good = choose(slots, evidence(view, slots, chalk, centre))
    if not good.any():
        return None
    slots = slots.of(np.flatnonzero(good))
    slots = sit(view, *whole(view, slots, centre), centre)
    good = standing(slots)
    return slots.of(np.flatnonzero(good)) if good.any() else None
