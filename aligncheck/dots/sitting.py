"""All dots measured by their kinds' portraits, and bare places looked at once more with the portrait in hand."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.measured import measured
from aligncheck.dots.outlines import outline
from aligncheck.dots.portraits import LEAST_OF_USUAL, Laid, Portrait, bare_share, lay, paint
from aligncheck.dots.slots import OFF_DIAMETER, OFF_MM, Slots, put
from aligncheck.dots.view import DotView
from aligncheck.geometry.near import Near
from aligncheck.geometry.small import median
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Circles that may sit for a portrait are of the kind's size but for this (natural log), if there are so many of them.
SITS, LEAST_SITTERS = 0.1, 3
#: A circle of quite another size is laid on the portrait from its own size, all others from the kind's.
OTHER_SIZE = 0.12
#: Starts about an empty place, in radii, to each side.
START_STEP, STARTS = 0.6, 2
#: What counts as a dot of any kind has this likeness.
LEAST_LIKENESS = 0.2
#: A place is bare from this likeness down: the bare panel explains it better.
BARE = -0.3
#: Or where so many of its points look bare: shadows and chalk that cross a place weigh much beside a faint dome.
BARE_SHARE = 0.75
#: Dots may have run together, but the middle of one lies outside the other, nearly.
APART = 0.9


@dataclass(frozen=True)
class Sitting:
    """The places of one kind, (n,), with its portrait."""

    portrait: Portrait
    laid: Laid
    filled: Mask
    bare: Mask
    radius_mm: float
    middle_mm: Floats


def sit(view: DotView, slots: Slots, grown: Mask, centre_mm: Floats) -> Slots:
    """Measure the dots of each kind by their portrait.

    Parameters
    ----------
    view : DotView
    slots : Slots
        Places of kinds that are believed, with circles as first seen.
    grown : ndarray (kinds,) of bool
        Kinds that are lit and shaded about the panel's own brightness: their circles are their rims already.
    centre_mm : ndarray (2,)
        What the design turns about.
    """
    kinds = list(enumerate(_kinds(slots)))
    found = all_at_once(lambda one: (one[1], _one(view, slots, one[1], centre_mm, bool(grown[one[0]]))), kinds)
    filled = slots.filled.copy()
    xy = slots.circles.xy_mm + centre_mm
    radius, radius_sd = slots.circles.radius_mm.copy(), slots.circles.radius_sd_mm.copy()
    likeness, bare = slots.likeness.copy(), slots.bare.copy()
    for mine, one in found:
        if one is None:
            continue
        filled[mine], bare[mine], likeness[mine] = one.filled, one.bare, one.laid.likeness
        here = one.filled
        xy[mine[here]] = (one.laid.xy_mm + one.laid.ratio[:, None] * one.middle_mm)[here]
        radius[mine[here]] = (one.laid.ratio * one.radius_mm)[here]
        radius_sd[mine[here]] = (one.laid.ratio_sd * one.radius_mm)[here]
    filled &= ~_on_others(xy, radius, filled, filled & ~slots.filled)
    px = view.to_view(xy)
    rims = replace(slots.circles.rims, x=px[:, 0], y=px[:, 1], r=radius * view.px_per_mm)
    circles = replace(measured(view, rims, centre_mm), radius_sd_mm=radius_sd)
    slots = replace(slots, likeness=likeness, bare=bare & ~filled, by_light=grown[slots.orbit])
    return replace(slots, filled=filled, circles=put(slots.circles, np.flatnonzero(filled), circles.take(filled)))


def _kinds(slots: Slots) -> list[NDArray[np.int64]]:
    return [np.flatnonzero(slots.orbit == k) for k in range(int(slots.orbit.max(initial=-1)) + 1)]


def _one(view: DotView, slots: Slots, mine: NDArray[np.int64], centre_mm: Floats, grown: bool) -> Sitting | None:
    """One kind; None where too few of its dots were seen for a portrait."""
    here = slots.filled[mine]
    if here.sum() < LEAST_SITTERS:
        return None
    circles = slots.circles.take(mine)
    radius = median(circles.radius_mm[here])
    own = np.log(circles.radius_mm / radius)
    ratio = np.where(here & (np.abs(own) > OTHER_SIZE), np.exp(own), 1.0)
    xy = np.where(here[:, None], circles.xy_mm, slots.place_mm[mine]) + centre_mm
    model = here & (np.abs(own) < SITS)
    portrait, seated = paint(
        view, xy[here], ratio[here], radius, (model if model.sum() >= LEAST_SITTERS else here)[here]
    )
    usual = median(seated.likeness)
    least = max(LEAST_LIKENESS, LEAST_OF_USUAL * usual)
    laid = Laid.at(xy, ratio).put(here, seated)
    filled = laid.likeness >= LEAST_LIKENESS
    empty = ~filled
    bare = empty.copy()
    if empty.any():
        there = Laid.at(slots.place_mm[mine[empty]] + centre_mm, np.ones(int(empty.sum())))
        likeness = lay(view, portrait, there, steps=0).likeness
        # The kind's own dots look nothing like bare places, or a portrait of light and shade tells nothing.
        telling = filled.any() and bare_share(view, portrait, laid.xy_mm[filled]).max(initial=0.0) < 1 - BARE_SHARE
        bare[empty] = (likeness < BARE) & (telling or not grown)
        if telling:
            bare[empty] |= bare_share(view, portrait, there.xy_mm) > BARE_SHARE
        again = _sought(view, portrait, slots.place_mm[mine[empty]] + centre_mm)
        laid = laid.put(empty, again)
        filled[empty] = again.likeness >= least
    # A rim between shade and shadow does not show: there the pattern of light tells more.
    rim, middle = (portrait.radius_mm, np.zeros(2)) if grown else outline(portrait, view)
    return Sitting(portrait, laid, filled, bare, rim, middle)


def _sought(view: DotView, portrait: Portrait, place_mm: Floats) -> Laid:
    """The likest spot about each place (n, 2)."""
    steps = np.arange(-STARTS, STARTS + 1) * START_STEP * portrait.radius_mm
    reach = OFF_MM + OFF_DIAMETER * 2 * portrait.radius_mm
    shifts = np.stack(np.meshgrid(steps, steps), -1).reshape(-1, 2)
    shifts = shifts[np.hypot(*shifts.T) <= reach + 0.5 * START_STEP * portrait.radius_mm]
    starts = (place_mm[:, None] + shifts).reshape(-1, 2)
    laid = lay(view, portrait, Laid.at(starts, np.ones(len(starts))))
    off = np.hypot(*(laid.xy_mm - np.repeat(place_mm, len(shifts), axis=0)).T)
    worth = np.where(off <= reach, laid.likeness, -1.0).reshape(len(place_mm), -1)
    best = worth.argmax(1)
    chosen = laid.take(best + np.arange(len(best)) * len(shifts))
    return replace(chosen, likeness=worth.max(1))


def _on_others(xy: Floats, radius: Floats, filled: Mask, new: Mask) -> Mask:
    """Which of the `new` dots (n,) overlap another one that was known before."""
    known = np.flatnonzero(filled & ~new)
    clash = np.zeros(len(xy), bool)
    if not new.any() or not len(known):
        return clash
    fresh = np.flatnonzero(new)
    reach = np.maximum(radius[fresh], radius[known].max())
    i, j, apart = Near(xy[known]).pairs(xy[fresh], reach)
    i, j = fresh[i], known[j]
    clash[i[apart < APART * np.maximum(radius[j], radius[i])]] = True
    return clash
