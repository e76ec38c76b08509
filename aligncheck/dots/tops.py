"""Dots that are set on the middle of larger dots, once these have dried.

Their rims show inside the larger dots' own. They are then measured as all others are, the paint they lie on being their
ground.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import CLOSE, colours_inside, refined
from aligncheck.dots.choice import LEAST_CONTRAST, LEAST_COVERAGE, LEAST_FIGURE, standing, traits
from aligncheck.dots.dots import Dots, MissingDot
from aligncheck.dots.inner_rims import RIM_PX, SIDE_PX, Top, inner_rim
from aligncheck.dots.measured import measured
from aligncheck.dots.rims import fit_rims, seeds
from aligncheck.dots.sitting import sit
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Mask = NDArray[np.bool_]

#: So often a dot is set on one that was set on another.
LEVELS = 3


class Level(NamedTuple):
    """Dots on dots: their places, and for each of their kinds the kind that it lies on."""

    slots: Slots
    on: list[int]


def with_tops(
    view: DotView, slots: Slots, centre_mm: Floats, white: Callable[[Floats], Mask]
) -> tuple[Slots, list[int | None]]:
    """The places with those of dots on top of others, and for each kind which other it lies on, None for the ground.

    Parameters
    ----------
    white : callable
        Whether the photo is clipped white at places (n, 2) of the panel.
    """
    on: list[int | None] = [None] * (int(slots.orbit.max(initial=-1)) + 1)
    every = slots
    below, first, ground = slots, 0, view
    for _ in range(LEVELS):
        level = _level(ground, view, below, centre_mm, white)
        if level is None:
            break
        on += [first + k for k in level[0].on]
        first, below, ground = int(every.orbit.max()) + 1, level[0].slots, level[1]
        every = every.joined(below)
    return every, on


def on_others(dots: Dots, on: list[int | None]) -> Dots:
    """The dots with which kind each kind lies on; where a dot is missing the one on top of it is not missed as well."""
    kinds = tuple(replace(kind, on=k) for kind, k in zip(dots.kinds, on, strict=True))
    middles = [np.array([d.centre_mm for d in dots.dots if d.kind == k]).reshape(-1, 2) for k in range(len(kinds))]

    def shown(gap: MissingDot) -> bool:
        below = on[gap.kind]
        if below is None:
            return True
        near = np.hypot(*(middles[below] - gap.centre_mm).T) < kinds[below].diameter_mm / 2
        return bool(near.any())

    return replace(dots, kinds=kinds, missing=tuple(gap for gap in dots.missing if shown(gap)))


def _level(
    ground: DotView, view: DotView, slots: Slots, centre_mm: Floats, white: Callable[[Floats], Mask]
) -> tuple[Level, DotView] | None:
    """The dots on the dots of `slots`, and the view that has these for its ground."""
    kinds = [np.flatnonzero((slots.orbit == k) & slots.filled) for k in range(int(slots.orbit.max(initial=-1)) + 1)]
    tops = [top for k, mine in enumerate(kinds) if (top := inner_rim(ground, slots, mine, k, centre_mm))]
    if not tops:
        return None
    over = _over(ground, slots, tops, centre_mm)
    places = _places(over, slots, tops, centre_mm)
    held = slots.filled[np.concatenate([np.flatnonzero(slots.orbit == top.orbit) for top in tops])]
    found = sit(over, places, np.zeros(len(tops), bool), centre_mm)
    # Where the dot beneath is gone nothing can be told of the one on top.
    found = replace(found, filled=found.filled & held, bare=found.bare & held)
    t, order = traits(found), len(found.orbit) // len(tops)
    good = standing(found)
    # A highlight may lie in the middle, too.
    glint = white(found.circles.xy_mm + centre_mm)
    good &= (
        np.array([glint[(found.orbit == k) & found.filled].sum() for k in range(len(good))]) < 0.5 * t.filled * order
    )
    good &= (t.coverage >= LEAST_COVERAGE) & (t.figure >= LEAST_FIGURE) & (t.contrast >= LEAST_CONTRAST)
    if not good.any():
        return None
    found = found.of(np.flatnonzero(good))
    colour = colours_inside(view, found.circles.rims)
    found = replace(found, circles=replace(found.circles, colour=colour))
    return Level(found, [top.orbit for top, stands in zip(tops, good, strict=True) if stands]), over


def _over(view: DotView, slots: Slots, tops: list[Top], centre_mm: Floats) -> DotView:
    """The view of what lies on the dots that have tops: each dot's own paint is its ground, all else is blank."""
    # Zeros that nobody writes to take no memory: most of the view is blank.
    away, unlike = (np.zeros(view.away.shape, np.float32) for _ in range(2))
    for top in tops:
        for i in np.flatnonzero((slots.orbit == top.orbit) & slots.filled):
            (x, y), r = view.to_view(slots.circles.xy_mm[i] + centre_mm), slots.circles.radius_mm[i] * view.px_per_mm
            left, upper = max(int(x - r), 0), max(int(y - r), 0)
            part = np.s_[upper : int(y + r) + 2, left : int(x + r) + 2]
            rows, columns = np.ogrid[: away[part].shape[0], : away[part].shape[1]]
            far = np.hypot(columns + left - x, rows + upper - y)
            on = far < r - RIM_PX
            paint = on & (far > top.share * r + SIDE_PX)
            if paint.any():
                for picture, source in ((away, view.away), (unlike, view.unlike)):
                    picture[part][on] = source[part][on] - np.median(source[part][paint], axis=0)
    return DotView(away, unlike, view.px_per_mm, view.origin_px)


def _places(view: DotView, slots: Slots, tops: list[Top], centre_mm: Floats) -> Slots:
    """The places of the dots on top, and the circles there."""
    mine = [np.flatnonzero(slots.orbit == top.orbit) for top in tops]
    which, share = np.concatenate(mine), np.repeat([top.share for top in tops], [len(m) for m in mine])
    orbit = np.repeat(np.arange(len(tops)), [len(m) for m in mine])
    below = slots.take(which)
    usual = np.array([np.median(slots.circles.radius_mm[m[slots.filled[m]]]) for m in mine])
    radius = share * np.where(below.filled, below.circles.radius_mm, usual[orbit])
    middle = np.where(below.filled[:, None], below.circles.xy_mm, below.place_mm)
    px = view.to_view(middle + centre_mm)
    rims = refined(view, fit_rims(view.away, seeds(px[:, 0], px[:, 1], radius * view.px_per_mm), CLOSE))
    circles = measured(view, rims, centre_mm)
    near = np.hypot(*(circles.xy_mm - middle).T) < 0.5 * radius
    like = np.abs(np.log(circles.radius_mm / radius)) < 0.3
    filled = below.filled & near & like & (circles.coverage > 0.5)
    return Slots(orbit, below.place_mm, filled, circles, np.zeros(len(orbit)), ~filled, np.zeros(len(orbit), bool))
