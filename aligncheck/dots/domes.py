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
from aligncheck.dots.portraits import Portrait, seen_about
from aligncheck.dots.shading import Circle, Domes, Picture, within
from aligncheck.dots.slots import Slots
from aligncheck.dots.support import overlapping
from aligncheck.dots.view import DotView
from aligncheck.geometry.small import medians
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Fewer dots than this make no middle picture; only those of the kind's size (natural log) sit for it.
LEAST_SITTERS, SITS = 3, 0.1
#: The picture reaches this far from the middle, radii and mm: a highlight is a third of its dome and less, but of large
#: domes at least the lit half is seen. So many points wide.
REACH, REACH_MM, POINTS = 2.6, 1.2, 29
#: The least noise of a picture (gamma-coded values, 0 to 1), and so many times of the usual make a place that differs
#: from dot to dot: a neighbour, or a highlight that moves.
LEAST_NOISE, ODD = 0.005, 2.0
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


def lamp_of(view: DotView, slots: Slots, centre_mm: Floats) -> Floats | None:
    """Which way (2,) the lamp stands, by all kinds of dots together; None where none shows."""
    pictures = [p for mine in _kinds(slots) if (p := _picture(view, slots, mine, centre_mm))]
    towards = np.sum([_lit_side(p) for p in pictures], axis=0) if pictures else np.zeros(2)
    length = float(np.hypot(*towards))
    return np.asarray(towards / length, float) if length > 0 else None


def _lit_side(picture: Picture) -> Floats:
    """Which way (2,) the lamp stands by one picture: a dome's shade and shadow lie on the far side.

    What is light may be a highlight, with the rest of the lit side on either hand.
    """
    far = np.maximum(np.hypot(picture.x, picture.y), 1e-9)
    near = far < ABOUT * picture.radius
    dark = np.tanh(np.minimum(picture.light[near], 0) / HALF) * picture.weight[near] / far[near]
    return np.array([dark @ picture.x[near], dark @ picture.y[near]]) / max(int(near.sum()), 1)


def whole(view: DotView, slots: Slots, centre_mm: Floats, lamp: Floats | None) -> tuple[Slots, Mask]:
    """The places with those kinds grown to whole domes that were only parts of them, and which kinds these are.

    Parameters
    ----------
    lamp : ndarray (2,) or None
        Which way it stands.
    """
    kinds = _kinds(slots)
    grown = np.zeros(len(kinds), bool)
    if lamp is None:
        return slots, grown
    pictures = [_picture(view, slots, mine, centre_mm) for mine in kinds]
    found = _under(lamp, pictures)
    if len(kinds) < FEW:
        # Shade and shadow of few kinds may be hidden by what lies around them: then the other side is tried as well.
        found = max(found, _under(-lamp, pictures), key=lambda some: sum(one is not None for one in some))
    xy, radius = slots.circles.xy_mm.copy(), slots.circles.radius_mm.copy()
    for k, (mine, picture, dome) in enumerate(zip(kinds, pictures, found, strict=True)):
        if picture is None or dome is None:
            continue
        ratio = radius[mine] / picture.radius_mm
        moved, large = xy.copy(), radius.copy()
        moved[mine] += ratio[:, None] * dome.middle * picture.step_mm
        large[mine] = ratio * dome.radius * picture.step_mm
        if not _crowded(slots, mine, moved, large):
            xy, radius, grown[k] = moved, large, True
    px = view.to_view(xy + centre_mm)
    rims = replace(slots.circles.rims, x=px[:, 0], y=px[:, 1], r=radius * view.px_per_mm)
    return replace(slots, circles=measured(view, rims, centre_mm), place_mm=_moved(slots, xy)), grown


def _under(lamp: Floats, pictures: list[Picture | None]) -> list[Circle | None]:
    """The domes under a lamp on that side of which the dots in the pictures are parts."""
    domes = Domes.lit_from(lamp, POINTS // 2)
    return all_at_once(lambda one: None if one is None else _dome(one, domes), pictures)


def _crowded(slots: Slots, mine: NDArray[np.int64], xy_mm: Floats, radius_mm: Floats) -> bool:
    """Whether the domes of one kind would run into dots as large as what was seen of them: no two lie in one place."""
    here = mine[slots.filled[mine]]
    others = np.flatnonzero(slots.filled & (slots.orbit != slots.orbit[mine[0]]))
    at, size = np.concatenate([xy_mm[here], slots.circles.xy_mm[others]]), slots.circles.radius_mm
    seen = np.concatenate([size[here], size[others]])
    one, other = overlapping(at, np.concatenate([radius_mm[here], size[others]]))
    met = np.concatenate([one[seen[other] >= seen[one]], other[seen[one] >= seen[other]]])
    return len(np.unique(met[met < len(here)])) > CROWDED * len(here)


def _kinds(slots: Slots) -> list[NDArray[np.int64]]:
    return [np.flatnonzero(slots.orbit == k) for k in range(int(slots.orbit.max(initial=-1)) + 1)]


def _moved(slots: Slots, xy_mm: Floats) -> Floats:
    """Places (n, 2) moved as their kinds' circles were, in the middle."""
    place = slots.place_mm.copy()
    for mine in _kinds(slots):
        here = mine[slots.filled[mine]]
        place[mine] += np.median(xy_mm[here] - slots.circles.xy_mm[here], axis=0)
    return place


def _picture(view: DotView, slots: Slots, mine: NDArray[np.int64], centre_mm: Floats) -> Picture | None:
    """The middle picture of one kind; None where too few of its dots were seen."""
    here = mine[slots.filled[mine]]
    if len(here) < LEAST_SITTERS:
        return None
    radius = float(np.median(slots.circles.radius_mm[here]))
    alike = np.abs(np.log(slots.circles.radius_mm[here] / radius)) < SITS
    here = here[alike] if alike.sum() >= LEAST_SITTERS else here
    step = 2 * (REACH * radius + REACH_MM) / (POINTS - 1)
    empty = Portrait(np.zeros((POINTS, POINTS, 3), np.float32), step, radius, np.ones(3))
    seen = seen_about(view, empty, slots.circles.xy_mm[here] + centre_mm, np.ones(len(here)))[..., 0]
    x, y = np.moveaxis(empty.offsets_mm / step, -1, 0)
    middle = medians(seen, axis=0)
    spread = 1.48 * medians(np.abs(seen - middle), axis=0)
    odd = spread / (ODD * max(float(np.median(spread)), LEAST_NOISE))
    inside = within(POINTS // 2)
    light, weight = (np.asarray(one[inside], float) for one in (middle, 1 / (1 + odd**2) ** 2))
    return Picture(light, weight, x[inside], y[inside], step, radius)


def _dome(picture: Picture, domes: Domes) -> Circle | None:
    """The dome of which the dot in the middle is a part, if there is one."""
    first = domes.best(picture, LARGER)
    if first is None:
        return None
    middle, radius = first
    near = picture.only(np.hypot(picture.x - middle[0], picture.y - middle[1]) < AROUND * radius)
    all_there = float(near.weight @ near.light**2)
    most = MORE * LEFT * all_there
    one = domes.fitted(near, middle, radius, hopeless=HOPELESS * most)
    if np.log(one.radius / picture.radius) < LARGER or one.left >= most or not _hidden(near, one):
        return None
    own = domes.fitted(near, np.zeros(2), picture.radius, most=float(np.exp(LARGER / 2)))
    allowed = LEFT * all_there * (MORE if one.left < VERY_MUCH_LESS * own.left else 1.0)
    better = NOTHING * all_there < own.left and one.left < min(LESS * own.left, allowed)
    return one if better else None


def _hidden(picture: Picture, dome: Circle) -> bool:
    """Whether the rest of a dome, beyond the dot as it was seen, could be overlooked beside it."""
    part = np.hypot(picture.x, picture.y) < picture.radius - 0.5
    inside = np.hypot(picture.x - dome.middle[0], picture.y - dome.middle[1]) < dome.radius - 0.5
    rest = inside & (np.hypot(picture.x, picture.y) > picture.radius + 0.5)
    if not part.any() or not rest.any():
        return False
    hidden = float(picture.weight[rest] @ picture.light[rest]) / max(float(picture.weight[rest].sum()), 1e-9)
    return hidden / float(picture.light[part].mean()) < LIKE
