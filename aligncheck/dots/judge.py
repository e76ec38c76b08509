"""From circles to dots: which are too big, which places are bare, and how sure each figure is."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.candidates import colours_inside
from aligncheck.dots.dots import Dot, Dots, Kind, MissingDot
from aligncheck.dots.measured import Measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.angles import bearing

Floats = NDArray[np.float64]

#: A dot is called too big only beyond so many standard deviations of its size, and so many times its kind's spread.
SURE, SPREADS, LEAST_SPREAD = 1.96, 3.2, 0.03
#: Paint differs from the panel by this share of the kind's contrast, and is the kind's colour if it differs from that
#: by less than this share of it.
PAINT, LIKE_COLOUR = 0.65, 0.4
#: A place is called missing only where the kind is large enough (mm) and nearly all its places are filled.
MISSING_FROM_MM, MISSING_FILLED = 1.8, 0.78
#: What a rim in a photo says of the dot's own edge: a dome's side, its shadow, paint on chalk. Parts that do not
#: average out, as standard deviations: mm, and a share of the diameter.
EDGE_MM, EDGE_SHARE = 0.09, 0.018


def judge(
    view: DotView,
    slots: Slots | None,
    lone: Measured,
    order: int,
    centre: Floats,
    oversize: float,
) -> Dots | None:
    """Put the dots together; None where there are none."""
    if slots is None and not len(lone):
        return None
    dots, missing, kinds = [], [], []
    if slots is not None:
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
            dots += _dots(circles, centre, k, number[slots.filled[mine]], big)
            kinds.append(Kind(float(np.median(np.hypot(*places.T))), 2 * middle, len(here), len(mine)))
            empty = mine[~slots.filled[mine]]
            if len(empty) and 2 * middle >= MISSING_FROM_MM and len(here) >= MISSING_FILLED * len(mine):
                bare = slots.bare[empty] & ~_beside(view, slots.place_mm[empty], circles, everything, centre)
                for i in empty[bare]:
                    at = np.flatnonzero(mine == i)[0]
                    missing.append(MissingDot(slots.place_mm[i] + centre, 2 * middle, k, int(number[at])))
    dots += _dots(lone, centre, None, _segments(lone.xy_mm, order), np.zeros(len(lone), bool))
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


def _beside(view: DotView, places: Floats, kind: Measured, all_dots: Measured, centre: Floats) -> NDArray[np.bool_]:
    """Beside which places (n, 2), from the centre, there is paint of the kind's colour that no known dot explains.

    A dot was set far off its place there, not left out.
    """
    radius, contrast = float(np.median(kind.radius_mm)), float(np.median(kind.contrast))
    colour = np.median(kind.colour, axis=0)
    angle = np.arange(8) * (np.pi / 4)
    ring = np.column_stack([np.cos(angle), np.sin(angle)])
    points = (places[:, None] + np.concatenate([radius * ring, 2 * radius * ring])).reshape(-1, 2)
    xy = view.to_view(points + centre)
    rims = seeds(xy[:, 0], xy[:, 1], np.full(len(xy), 0.8 * radius * view.px_per_mm))
    paint = np.linalg.norm(colours_inside(view, rims, view.unlike), axis=1)
    alike = np.linalg.norm(colours_inside(view, rims) - colour, axis=1) < LIKE_COLOUR * np.linalg.norm(colour)
    apart = np.hypot(*np.moveaxis(points[:, None] - all_dots.xy_mm, -1, 0)) - all_dots.radius_mm
    unexplained = alike & (apart.min(1) > 0) & (paint > PAINT * contrast)
    return np.asarray(unexplained.reshape(len(places), -1).any(1), bool)


def _dots(
    c: Measured, centre: Floats, kind: int | None, segment: NDArray[np.int64], big: NDArray[np.bool_]
) -> list[Dot]:
    diameter_sd = np.hypot(2 * c.radius_sd_mm, np.hypot(EDGE_MM, EDGE_SHARE * 2 * c.radius_mm))
    diameter_u95, centre_u95 = 1.96 * diameter_sd, 2.45 * 0.7 * diameter_sd
    return [
        Dot(xy + centre, float(cu), float(2 * r), float(du), kind, int(s), bool(b), colour)
        for xy, cu, r, du, s, b, colour in zip(
            c.xy_mm, centre_u95, c.radius_mm, diameter_u95, segment, big, c.colour, strict=True
        )
    ]
