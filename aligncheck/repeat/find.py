"""The front of this package: what repeats on the panel, and how well."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Line
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.repeat.centre import TurningCentre, find_turning_centre
from aligncheck.repeat.consensus import unroll, without_lines
from aligncheck.repeat.departures import departures_of, heat_of
from aligncheck.repeat.repeat import Repeat
from aligncheck.repeat.scores import colour, edge_mm
from aligncheck.repeat.turning import around, banded, edges, turning
from aligncheck.rows.view import ColourView, colour_view

Floats = NDArray[np.float64]

#: Longer side of the view, pixels: a small dot on a 30 cm panel is then four across.
SIDE_PX = 700
#: From the panel's side, mm: there its edge is seen too.
EDGE_MM = 4.0
#: Of fewer segments none can be told to be the odd one.
LEAST_COMPARED = 3
#: Likeness from which on a panel without any mark may be said to turn about a point. The point was chosen for its
#: likeness, so more is asked than of a given one.
LEAST_UNMARKED = 0.25


def find_repeat(
    photo: Photo, panel: Panel, centre_mm: Floats, marked: int | None = None, construction: Sequence[Line] = ()
) -> Repeat:
    """Find how often the pattern about `centre_mm` (2,) repeats, and where it does not.

    Parameters
    ----------
    marked : int, optional
        The number of segments that the marks show; it stands where the pattern agrees.
    construction : sequence of Line
        Lines that are not meant to repeat.
    """
    return _repeat_of(colour_view(photo.rgb, panel, SIDE_PX), panel, centre_mm, marked, construction)


def find_unmarked(photo: Photo, panel: Panel) -> tuple[TurningCentre, Repeat] | None:
    """Find the centre of a pattern that no mark tells, and how often it repeats; None where nothing repeats."""
    view = colour_view(photo.rgb, panel, SIDE_PX)
    centre = find_turning_centre(view)
    if centre is None:
        return None
    repeat = _repeat_of(view, panel, centre.xy_mm)
    return (centre, repeat) if repeat.order is not None and repeat.likeness > LEAST_UNMARKED else None


def _repeat_of(
    view: ColourView,
    panel: Panel,
    centre_mm: Floats,
    marked: int | None = None,
    construction: Sequence[Line] = (),
) -> Repeat:
    outermost = min(panel.width_mm / 2 - abs(centre_mm[0]), panel.height_mm / 2 - abs(centre_mm[1])) - EDGE_MM
    if outermost < 20:
        return Repeat(None, 0.0)
    picture = banded(view)
    by_edges = turning(*around(edges(view, picture), view, centre_mm, outermost), marked)
    by_colour = turning(*around(picture, view, centre_mm, outermost))
    place = (float(centre_mm[0]), float(centre_mm[1]))
    repeat = Repeat(by_edges.order, by_edges.likeness, by_colour.order, centre_mm=place)
    order = by_edges.order
    if order is None or order < LEAST_COMPARED:
        return repeat
    # Colours that alternate are compared two segments apart.
    if by_colour.order and order % by_colour.order == 0 and by_colour.order >= LEAST_COMPARED:
        order = by_colour.order
    segments = unroll(view, panel, centre_mm, order, outermost)
    segments = without_lines(segments, centre_mm, construction)
    heat = heat_of(segments)
    return replace(
        repeat,
        edge_mm=edge_mm(segments),
        colour=colour(segments),
        departures=departures_of(segments, heat, np.asarray(centre_mm, float)),
        left_out=tuple(int(k) + 1 for k in np.flatnonzero(~segments.finished)),
        heat=heat,
    )
