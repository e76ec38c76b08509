"""Every place of every orbit: the circle that is there, looked for once more where none was found or it is odd."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import CLOSE, refined
from aligncheck.dots.measured import Measured, measured
from aligncheck.dots.orbits import Orbit
from aligncheck.dots.rims import Rims, fit_rims, seeds
from aligncheck.dots.view import DotView
from aligncheck.geometry.near import Near

Floats = NDArray[np.float64]

#: A circle this much larger or smaller than its like (natural log) is looked at again from its like's size.
ODD = 0.08
#: Starts about an empty place, in radii of the dot, so that a dot set off its place is met.
STARTS = np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]]) * 0.6
#: What counts as found: share of the rim, off its place by hand (mm and share of the diameter), size (natural log).
LEAST_COVERAGE, OFF_MM, OFF_DIAMETER, OFF_SIZE = 0.5, 0.4, 0.4, 0.3
#: Of two looks that show as much of a dot the one nearer its like's size is believed (natural log).
LIKE_SIZE = 0.2
#: Noise alone changes a colour by this much (gamma-coded values, 0 to 1).
LEAST_COLOUR = 0.05
#: A segment's turn is told by so many dots beyond this distance from the centre, mm.
TURN_FROM, TURN_FROM_MM = 4, 20.0
#: A circle may be one kind's odd dot up to this size (natural log) and this distance of colour.
ODD_SIZE, ODD_COLOUR = 0.55, 0.4


@dataclass(frozen=True)
class Slots:
    """Places of all orbits, flattened: arrays (orbits * N, ...).

    Attributes
    ----------
    orbit : ndarray (n,) of int
    place_mm : ndarray (n, 2)
        Where a dot should be, from the centre.
    filled : ndarray (n,) of bool
        Whether a circle is there.
    circles : Measured
    likeness : ndarray (n,)
        How much each place looks as its kind's portrait does, 0 before that was painted.
    bare : ndarray (n,) of bool
        Whether the place looks as the bare panel does.
    by_light : ndarray (n,) of bool
        Whether its kind's rim does not show and its size was told by light and shade.
    """

    orbit: NDArray[np.int64]
    place_mm: Floats
    filled: NDArray[np.bool_]
    circles: Measured
    likeness: Floats
    bare: NDArray[np.bool_]
    by_light: NDArray[np.bool_]

    def take(self, which: NDArray[np.generic]) -> "Slots":
        """Places at `which` (indices or mask)."""
        names = ("orbit", "place_mm", "filled", "likeness", "bare", "by_light")
        return Slots(**{k: getattr(self, k)[which] for k in names}, circles=self.circles.take(which))

    def of(self, orbits: NDArray[np.int64]) -> "Slots":
        """Those of some orbits, numbered anew."""
        number = np.full(int(self.orbit.max(initial=-1)) + 1, -1)
        number[orbits] = np.arange(len(orbits))
        some = self.take(np.flatnonzero(number[self.orbit] >= 0))
        return replace(some, orbit=number[some.orbit])

    def joined(self, other: "Slots") -> "Slots":
        """These and the `other` ones, numbered on."""
        names = ("place_mm", "filled", "likeness", "bare", "by_light")
        both = {k: np.concatenate([getattr(self, k), getattr(other, k)]) for k in names}
        orbit = np.concatenate([self.orbit, other.orbit + int(self.orbit.max(initial=-1)) + 1])
        return Slots(**both, orbit=orbit, circles=self.circles.joined(other.circles))


def fill(view: DotView, orbits: list[Orbit], found: Measured, centre_mm: Floats) -> Slots:
    """Measure all places of `orbits` whose members are indices into `found`."""
    order = len(orbits[0].members)
    place = segments_turned(orbits, found)
    radius = np.repeat([o.radius_mm for o in orbits], order)
    colour = np.repeat([o.colour for o in orbits], order, axis=0)
    members = _with_odd_ones(np.concatenate([o.members for o in orbits]), found, place, radius, colour)
    filled = members >= 0
    again = ~filled | (np.abs(np.log(np.where(filled, found.radius_mm[members], radius) / radius)) > ODD)
    which = np.flatnonzero(again)
    second = _best_start(view, place[which], radius[which], colour[which], centre_mm)
    circles = found.take(np.where(filled, members, 0))
    if len(which):
        first = circles.take(which)
        off = np.hypot(*(second.xy_mm - place[which]).T)
        usable = (
            (second.coverage > LEAST_COVERAGE)
            & (off < OFF_MM + OFF_DIAMETER * 2 * radius[which])
            & (np.abs(np.log(second.radius_mm / radius[which])) < OFF_SIZE)
            & (_unlike(second.colour, colour[which]) < 0.5)
        )
        worth = [c.coverage * (0.1 + c.figure) * _like_size(c.radius_mm / radius[which]) for c in (first, second)]
        better = usable & (~filled[which] | (worth[1] > worth[0]))
        circles = put(circles, which[better], second.take(better))
        filled = filled.copy()
        filled[which[better]] = True
    orbit = np.repeat(np.arange(len(orbits)), order)
    return Slots(orbit, place, filled, circles, np.zeros(len(orbit)), ~filled, np.zeros(len(orbit), bool))


def segments_turned(orbits: list[Orbit], found: Measured) -> Floats:
    """Places of all orbits (orbits * N, 2), each segment turned as its own dots are.

    Dots follow the spokes as drawn: where one is off, all of its segment's dots are, more the farther out.
    """
    places = np.stack([o.place_mm for o in orbits])
    members = np.stack([o.members for o in orbits])
    arm = np.hypot(*np.moveaxis(places, -1, 0))
    off = found.xy_mm[np.maximum(members, 0)] - places
    turn = (places[..., 0] * off[..., 1] - places[..., 1] * off[..., 0]) / np.maximum(arm, 1e-9) ** 2
    told = (members >= 0) & (arm > TURN_FROM_MM)
    angle = np.array([np.median(t[k]) if k.sum() >= TURN_FROM else 0.0 for t, k in zip(turn.T, told.T, strict=True)])
    cos, sin = np.cos(angle), np.sin(angle)
    x, y = places[..., 0], places[..., 1]
    return np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1).reshape(-1, 2)


def _like_size(ratio: Floats) -> Floats:
    """Prior for a dot's size over its like's: falls off to `LIKE_SIZE`, then stays, for some dots are too big."""
    return np.asarray(np.exp(-0.5 * np.minimum(np.abs(np.log(ratio)) / LIKE_SIZE, 1.0) ** 2), float)


def _with_odd_ones(
    members: NDArray[np.int64], found: Measured, place: Floats, radius: Floats, colour: Floats
) -> NDArray[np.int64]:
    """Give empty places the circle of another size that lies there, if it is nobody else's: it may be too big."""
    free = np.ones(len(found), bool)
    free[members[members >= 0]] = False
    members = members.copy()
    empty = np.flatnonzero(members < 0)
    loose = np.flatnonzero(free)
    if not len(empty) or not len(loose):
        return members
    reach = OFF_MM + OFF_DIAMETER * 2 * radius[empty]
    i, j, _ = Near(found.xy_mm[loose]).pairs(place[empty], reach)
    i, j = empty[i], loose[j]
    like = (np.abs(np.log(found.radius_mm[j] / radius[i])) < ODD_SIZE) & (
        _unlike(found.colour[j], colour[i]) < ODD_COLOUR
    )
    i, j = i[like], j[like]
    # Of several the best by itself.
    worst_first = np.argsort(found.quality[j], kind="stable")
    members[i[worst_first]] = j[worst_first]
    return members


def _best_start(view: DotView, place: Floats, radius: Floats, colour: Floats, centre_mm: Floats) -> Measured:
    """From several starts about each place the circle that looks most like its orbit's dot."""
    starts = (place[:, None] + STARTS * radius[:, None, None]).reshape(-1, 2) + centre_mm
    xy = view.to_view(starts)
    rims = seeds(xy[:, 0], xy[:, 1], np.repeat(radius, len(STARTS)) * view.px_per_mm)
    circles = measured(view, refined(view, fit_rims(view.away, rims, CLOSE)), centre_mm)
    wanted = np.repeat(radius, len(STARTS))
    off = np.hypot(*(circles.xy_mm - np.repeat(place, len(STARTS), axis=0)).T) / (OFF_MM + OFF_DIAMETER * 2 * wanted)
    size = np.abs(np.log(circles.radius_mm / wanted)) / OFF_SIZE
    worth = (
        circles.quality
        * np.exp(-0.3 * (off**2 + size**2))
        * np.exp(-_unlike(circles.colour, np.repeat(colour, len(STARTS), axis=0)))
    )
    best = worth.reshape(-1, len(STARTS)).argmax(1) + np.arange(len(place)) * len(STARTS)
    return circles.take(best)


def _unlike(colour: Floats, wanted: Floats) -> Floats:
    """Distance of two colours as a share of the wanted one's distance from the panel."""
    return np.asarray(
        np.linalg.norm(colour - wanted, axis=1) / np.maximum(np.linalg.norm(wanted, axis=1), LEAST_COLOUR), float
    )


def put(circles: Measured, where: NDArray[np.int64], other: Measured) -> Measured:
    """`circles` with those at `where` taken from `other`."""

    def mixed(a: Floats, b: Floats) -> Floats:
        a = a.copy()
        a[where] = b
        return a

    names = ("xy_mm", "radius_mm", "colour", "contrast", "figure", "roughness", "radius_sd_mm")
    rim_names = ("x", "y", "r", "coverage", "noise_px", "step")
    rims = Rims(*(mixed(getattr(circles.rims, k), getattr(other.rims, k)) for k in rim_names))
    return replace(circles, **{k: mixed(getattr(circles, k), getattr(other, k)) for k in names}, rims=rims)
