"""From circles to dots: which are too big, which places are bare, and how sure each figure is."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import colours_inside
from aligncheck.dots.dots import Dot, Dots, Kind, MissingDot
from aligncheck.dots.intervals import diameter_u95, place_u95
from aligncheck.dots.measured import Measured
from aligncheck.dots.sample import inside, seen_at
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.angles import bearing

Floats = NDArray[np.float64]

#: A dot is called too big only beyond so many standard deviations of its size, and so many times its kind's spread.
SURE, SPREADS, LEAST_SPREAD = 1.96, 3.2, 0.03
#: A disc of paint is the kind's colour if on the whole it differs from that by less than this share of how that differs
#: from the panel, and a dot if so large a share of it shows this share of the kind's paint.
LIKE_COLOUR, WHOLE, PAINTED = 0.4, 0.7, 0.5
#: A dot was set off its place, not left out, if one of its size (natural log) that is of no kind lies this many radii
#: aside.
ASIDE, LIKE_SIZE = 2.5, 0.3
#: Paint is looked for beside a place this share of a radius clear of known dots: nearer by it is theirs.
CLEAR = 0.5
#: A place shows nothing below this share of its kind's paint, if the kind differs from the panel by so many times its
#: noise.
BARE, TELLING = 0.35, 10.0
#: A place is called missing only where the kind is large enough (mm) and nearly all its places are filled.
MISSING_FROM_MM, MISSING_FILLED = 1.8, 0.78
_ANGLE = np.arange(12) * (np.pi / 6)
_RING = np.column_stack([np.cos(_ANGLE), np.sin(_ANGLE)])


def judge(view: DotView, slots: Slots, lone: Measured, order: int, centre: Floats, oversize: float) -> Dots:
    """Put the dots together: those of kinds, and those that stand alone."""
    dots, missing, kinds = [], [], []
    everything = slots.circles.take(np.flatnonzero(slots.filled))
    for k in range(int(slots.orbit.max()) + 1):
        mine = np.flatnonzero(slots.orbit == k)
        here = mine[slots.filled[mine]]
        circles = slots.circles.take(here)
        middle = float(np.median(circles.radius_mm))
        size = np.log(circles.radius_mm / middle)
        spread = max(float(1.48 * np.median(np.abs(size))), LEAST_SPREAD)
        others = _median_of_others(circles.radius_mm)
        big = (circles.radius_mm - SURE * circles.radius_sd_mm > oversize * others) & (size > SPREADS * spread)
        places = slots.place_mm[mine]
        number = _segments(places, order)
        dots += _dots(circles, view, centre, k, number[slots.filled[mine]], big, slots.by_light[here])
        kinds.append(Kind(float(np.median(np.hypot(*places.T))), 2 * middle, len(here), len(mine)))
        empty = mine[~slots.filled[mine]]
        if len(empty) and 2 * middle >= MISSING_FROM_MM and len(here) >= MISSING_FILLED * len(mine):
            bare = slots.bare[empty] | _shows_nothing(view, slots.place_mm[empty] + centre, circles)
            bare &= ~_beside(view, slots.place_mm[empty], circles, everything, centre)
            bare &= ~_set_off(slots.place_mm[empty], circles, lone)
            for i in empty[bare]:
                at = np.flatnonzero(mine == i)[0]
                missing.append(MissingDot(slots.place_mm[i] + centre, 2 * middle, k, int(number[at])))
    dots += _dots(lone, view, centre, None, _segments(lone.xy_mm, order), np.zeros(len(lone), bool))
    return Dots(tuple(dots), tuple(missing), tuple(kinds), order, centre)


def _median_of_others(radius: Floats) -> Floats:
    """Median (n,) of all but each itself."""
    if len(radius) < 2:
        return radius
    ordered = np.sort(radius)
    rank = np.argsort(np.argsort(radius))
    n = len(radius)
    low, high = (n - 2) // 2, (n - 1) // 2
    return 0.5 * (ordered[low + (rank <= low)] + ordered[high + (rank <= high)])


def _segments(xy: Floats, order: int) -> NDArray[np.int64]:
    """Segment (n,) that each point from the centre lies in, 0 from 12 o'clock on."""
    return np.asarray(np.floor(bearing(xy) / (360.0 / max(order, 1))), np.int64) if len(xy) else np.zeros(0, np.int64)


def _shows_nothing(view: DotView, places_mm: Floats, kind: Measured) -> NDArray[np.bool_]:
    """Which places (n, 2), in the panel frame, show hardly any paint, of a kind that does: a line may cross them."""
    usual = float(np.median(kind.contrast))
    paint = np.linalg.norm(inside(view, places_mm, np.full(len(places_mm), np.median(kind.radius_mm))), axis=-1)
    return np.asarray((paint < BARE * usual) & (usual > TELLING), bool)


def _set_off(places: Floats, kind: Measured, lone: Measured) -> NDArray[np.bool_]:
    """Beside which places (n, 2), from the centre, a dot of the kind's size stands that is of no kind."""
    radius = float(np.median(kind.radius_mm))
    near = np.hypot(*np.moveaxis(places[:, None] - lone.xy_mm, -1, 0)) < ASIDE * radius
    return np.asarray((near & (np.abs(np.log(lone.radius_mm / radius)) < LIKE_SIZE)).any(1), bool)


def _beside(view: DotView, places: Floats, kind: Measured, all_dots: Measured, centre: Floats) -> NDArray[np.bool_]:
    """Beside which places (n, 2), from the centre, there is paint of the kind's colour that no known dot explains.

    A dot was set far off its place there, not left out.
    """
    radius, colour = float(np.median(kind.radius_mm)), np.median(colours_inside(view, kind.rims, view.unlike), axis=0)
    points = (places[:, None] + radius * np.concatenate([far * _RING for far in (1.0, 1.5, 2.0)])).reshape(-1, 2)
    spots = radius * np.concatenate([np.zeros((1, 2)), *(far * _RING for far in (0.4, 0.7, 0.95))])
    seen = seen_at(view, (points + centre)[:, None] + spots)
    usual = np.linalg.norm(colour)
    # One by one the spots of a dark dot differ as much as paints do: highlight and shade. A line of chalk that passes
    # is alike, too, but no disc.
    alike = np.linalg.norm(np.median(seen, axis=1) - colour, axis=-1) < LIKE_COLOUR * usual
    alike &= (np.linalg.norm(seen, axis=-1) > PAINTED * usual).mean(-1) > WHOLE
    apart = np.hypot(*np.moveaxis(points[:, None] - all_dots.xy_mm, -1, 0)) - all_dots.radius_mm
    return np.asarray((alike & (apart.min(1) > CLEAR * radius)).reshape(len(places), -1).any(1), bool)


def _dots(
    c: Measured,
    view: DotView,
    centre: Floats,
    kind: int | None,
    segment: NDArray[np.int64],
    big: NDArray[np.bool_],
    by_light: NDArray[np.bool_] | bool = False,
) -> list[Dot]:
    place, size = place_u95(c, view.px_per_mm, by_light), diameter_u95(c, view.px_per_mm, by_light)
    return [
        Dot(xy + centre, float(pu), float(2 * r), float(su), kind, int(s), bool(b), colour)
        for xy, pu, r, su, s, b, colour in zip(c.xy_mm, place, c.radius_mm, size, segment, big, c.colour, strict=True)
    ]
