"""Whole domes around what stands out of them: in the panel's own colour only the highlight or the lit side does.

A dome that is lit from one side is light towards the lamp, dark away from it, and throws a shadow there. Where its
paint is much like the panel, the light part alone is taken for a dot: too small, and off its place. One lamp lights all
domes of a panel, so all pictures together tell where it stands; then each kind's middle picture is laid on domes of all
sizes and places along that way (`shading`). Where one larger than the dot explains nearly all there is, and leaves much
less than the dot does as it was seen, the dot was only a part of it.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.measured import measured
from aligncheck.dots.pictures import POINTS, Pictures, pictures_of
from aligncheck.dots.shading import Circles, Domes
from aligncheck.dots.slots import Slots, put
from aligncheck.dots.support import OVERLAP
from aligncheck.dots.view import DotView
from aligncheck.geometry.near import Near
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Mask = NDArray[np.bool_]

#: What is darker than the panel by more than this says no more about where the lamp stands; it is looked for within so
#: many radii.
HALF, ABOUT = 0.05, 1.5
#: A dome is larger than what was seen of it by this (natural log). Within so many of its radii it leaves so much less
#: unexplained, and so little of all there is, or half as much again where it leaves very much less than the dot does; a
#: dot that leaves hardly anything itself is whole.
LARGER, AROUND, LESS, VERY_MUCH_LESS, LEFT, MORE, NOTHING = 0.14, 1.3, 0.8, 0.2, 0.065, 1.5, 0.02
#: What leaves so many times what may be left, after the first steps of its fit, will not come down to it.
HOPELESS = 2.0
#: What was not seen of a dome has less than this share of what was: else it would have been seen.
LIKE = 0.25
#: Fewer kinds than this may tell the lamp's side wrongly.
FEW = 10
#: Of the domes of a kind no more than this share may run into other dots.
CROWDED = 0.4
#: So many pictures are worked at a time: what they take stays in the processor's own memory.
AT_A_TIME = 16


def lamp_of(pictures: Pictures) -> Floats | None:
    """Which way (2,) the lamp stands, by all kinds of dots together; None where none shows.

    A dome's shade and shadow lie on the far side. What is light may be a highlight, with the rest of the lit side on
    either hand.
    """
    far = np.maximum(np.hypot(pictures.x, pictures.y), 1e-9)
    near = far < ABOUT * pictures.radius[:, None]
    dark = np.tanh(np.minimum(pictures.light, 0) / HALF) * pictures.weight / far * near
    share = dark / np.maximum(near.sum(1), 1)[:, None]
    towards = np.array([np.vdot(share, pictures.x), np.vdot(share, pictures.y)], float)
    length = float(np.hypot(*towards))
    return np.asarray(towards / length, float) if length > 0 else None


def whole(view: DotView, slots: Slots, centre_mm: Floats, known: Slots | None = None) -> tuple[Slots, Mask]:
    """The places with those kinds grown to whole domes that were only parts of them, and which kinds these are.

    Parameters
    ----------
    known : Slots, optional
        Dots that tell better than these where the lamp stands.
    """
    grown = np.zeros(int(slots.orbit.max(initial=-1)) + 1, bool)
    pictures, kinds = pictures_of(view, slots, centre_mm)
    lamp = lamp_of(pictures if known is None else pictures_of(view, known, centre_mm)[0])
    if lamp is None:
        return slots, grown
    found, there = _under(lamp, pictures)
    if len(grown) < FEW:
        # Shade and shadow of few kinds may be hidden by what lies around them: then the other side is tried as well.
        found, there = max((found, there), _under(-lamp, pictures), key=lambda one: int(one[1].sum()))
    xy, radius = slots.circles.xy_mm.copy(), slots.circles.radius_mm.copy()
    beside = _Beside(slots)
    for k in np.flatnonzero(there):
        mine = np.flatnonzero(slots.orbit == kinds[k])
        ratio = radius[mine] / pictures.radius_mm[k]
        moved = xy[mine] + ratio[:, None] * found.middle[k] * pictures.step_mm[k]
        large = ratio * found.radius[k] * pictures.step_mm[k]
        if not beside.crowded(mine, moved, large):
            xy[mine], radius[mine], grown[kinds[k]] = moved, large, True
    return _grown(view, slots, grown, xy, radius, centre_mm), grown


def _grown(view: DotView, slots: Slots, grown: Mask, xy_mm: Floats, radius_mm: Floats, centre_mm: Floats) -> Slots:
    """The places with circles and middles moved where their kinds have grown."""
    changed = np.flatnonzero(grown[slots.orbit])
    px = view.to_view(xy_mm[changed] + centre_mm)
    rims = replace(slots.circles.rims.take(changed), x=px[:, 0], y=px[:, 1], r=radius_mm[changed] * view.px_per_mm)
    place = slots.place_mm.copy()
    for kind in np.flatnonzero(grown):
        mine = slots.orbit == kind
        here = mine & slots.filled
        place[mine] += np.median(xy_mm[here] - slots.circles.xy_mm[here], axis=0)
    return replace(slots, circles=put(slots.circles, changed, measured(view, rims, centre_mm)), place_mm=place)


def _under(lamp: Floats, pictures: Pictures) -> tuple[Circles, Mask]:
    """The domes under a lamp on that side of which the dots in the pictures are parts, and for which there are any."""
    domes = Domes.lit_from(lamp, POINTS)
    first = all_at_once(lambda some: domes.best(pictures.take(some), LARGER), _some(np.arange(len(pictures))))
    middle, radius, larger = (np.concatenate(part) for part in zip(*first, strict=True))
    # Of like sizes together: none waits for points that only others have.
    sought = np.flatnonzero(larger)[np.argsort(radius[larger], kind="stable")]
    parts = _some(sought)
    judged = all_at_once(lambda some: _whole_domes(pictures.take(some), domes, middle[some], radius[some]), parts)
    there = np.zeros(len(pictures), bool)
    for some, (circles, good) in zip(parts, judged, strict=True):
        middle[some], radius[some], there[some] = circles.middle, circles.radius, good
    return Circles(middle, radius, np.zeros(len(radius))), there


def _some(which: Integers) -> list[Integers]:
    return [which[k : k + AT_A_TIME] for k in range(0, len(which), AT_A_TIME)]


def _whole_domes(pictures: Pictures, domes: Domes, middle: Floats, radius: Floats) -> tuple[Circles, Mask]:
    """The domes near these, and of which (k,) of them the dot in the middle is a part."""
    near = pictures.about(middle, AROUND * radius)
    all_there = near.strength
    most = MORE * LEFT * all_there
    found = domes.fitted(near, middle, radius, hopeless=HOPELESS * most)
    good = (np.log(found.radius / pictures.radius) >= LARGER) & (found.left < most) & _hidden(near, found)
    some = near.take(good)
    own = domes.fitted(some, np.zeros((len(some), 2)), some.radius, most=float(np.exp(LARGER / 2))).left
    left = found.left[good]
    allowed = LEFT * all_there[good] * np.where(left < VERY_MUCH_LESS * own, MORE, 1.0)
    good[good] = (NOTHING * all_there[good] < own) & (left < np.minimum(LESS * own, allowed))
    return found, good


def _hidden(pictures: Pictures, domes: Circles) -> Mask:
    """Whether the rest of each dome (k,), beyond the dot as it was seen, could be overlooked beside it."""
    far, own = pictures.far_from(np.zeros((len(pictures), 2))), pictures.radius[:, None]
    there = pictures.weight > 0
    part = (far < own - 0.5) & there
    rest = (pictures.far_from(domes.middle) < domes.radius[:, None] - 0.5) & (far > own + 0.5) & there
    weight = pictures.weight * rest
    hidden = (weight * pictures.light).sum(1) / np.maximum(weight.sum(1), 1e-9)
    light = (pictures.light * part).sum(1) / np.maximum(part.sum(1), 1)
    # As a product, for the light may be nothing.
    like = np.where(light > 0, hidden < LIKE * light, hidden > LIKE * light)
    return np.asarray(part.any(1) & rest.any(1) & like, bool)


class _Beside:
    """The dots as they were seen, to be asked whether larger ones would run into them."""

    def __init__(self, slots: Slots) -> None:
        self.slots, self.filled = slots, np.flatnonzero(slots.filled)
        self.near = Near(slots.circles.xy_mm[self.filled])
        self.largest = float(slots.circles.radius_mm[self.filled].max(initial=0.0))

    def crowded(self, mine: Integers, xy_mm: Floats, radius_mm: Floats) -> bool:
        """Whether the domes of one kind, of which `mine` are the places, would run into dots as large as what was seen
        of them: no two lie in one place.
        """
        here = self.slots.filled[mine]
        mine, xy, radius, size = mine[here], xy_mm[here], radius_mm[here], self.slots.circles.radius_mm
        i, j, apart = self.near.pairs(xy, OVERLAP * (radius + self.largest))
        other = self.filled[j]
        met = (apart < OVERLAP * (radius[i] + size[other])) & (self.slots.orbit[other] != self.slots.orbit[mine[0]])
        k, m, between = Near(xy).pairs(xy, OVERLAP * (radius + radius.max(initial=0.0)))
        each = (between < OVERLAP * (radius[k] + radius[m])) & (k != m)
        one, two = np.concatenate([i[met], k[each]]), np.concatenate([other[met], mine[m[each]]])
        return len(np.unique(one[size[two] >= size[mine[one]]])) > CROWDED * len(mine)
