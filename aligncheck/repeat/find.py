"""The front of this package: what repeats on the panel, and how well."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks import Line, Marks
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.repeat.centre import TurningCentre, find_turning_centre
from aligncheck.repeat.chalk import Chalk
from aligncheck.repeat.consensus import LEAST_COMPARED, Segments, compare, without_lines, without_zones
from aligncheck.repeat.departures import departures_of, heat_of, one_sided_of
from aligncheck.repeat.glare import glare_of
from aligncheck.repeat.repeat import Repeat
from aligncheck.repeat.scores import colour, edge_mm
from aligncheck.repeat.turning import alternating, around, banded, edges, turning
from aligncheck.repeat.unrolled import unroll
from aligncheck.repeat.zones import Zone, other_zones
from aligncheck.rows.view import ColourView, colour_view
from aligncheck.units import clock

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Longer side of the view, pixels: a small dot on a 30 cm panel is then four across.
SIDE_PX = 700
#: From the panel's side, mm: there its edge is seen too.
EDGE_MM = 4.0
#: Glare over less of the painting than this is not worth a word.
TOLD_GLARE = 0.03
#: The consensus shows nothing where less than this share of it is drawn or painted.
LEAST_PAINTED = 0.005
#: Likeness from which on a panel without any mark may be said to turn about a point. The point was chosen for its
#: likeness, so more is asked than of a given one.
LEAST_UNMARKED = 0.25


class Look(NamedTuple):
    """What is seen around a centre: the view, its drawing and paint alone, and how sharply that changes by circles."""

    view: ColourView
    picture: Singles
    outermost_mm: float
    radii: Floats
    circles: Singles


def look_around(photo: Photo, panel: Panel, centre_mm: Floats) -> Look | None:
    """Look around a centre (2,), which needs no marks; None where it is too near to a side."""
    return _look(colour_view(photo, panel, SIDE_PX), panel, centre_mm)


def find_repeat(
    photo: Photo,
    panel: Panel,
    centre_mm: Floats,
    marked: int | None = None,
    construction: Sequence[Line] = (),
    pieces: Sequence[Floats] = (),
    marks: Marks | None = None,
    look: Callable[[], Look | None] | None = None,
) -> Repeat:
    """Find how often the pattern about `centre_mm` (2,) repeats, and where it does not.

    Parameters
    ----------
    marked : int, optional
        The number of segments that the marks show; it stands where the pattern agrees.
    construction : sequence of Line
        Lines that are not meant to repeat.
    pieces : sequence of ndarray (n, 2)
        Outlines of what lies on the panel, which need not repeat.
    marks : Marks, optional
        What is drawn for the painting: where only its chalk differs nothing departs.
    look : callable, optional
        Gives what `look_around` saw around this centre, where that was begun before.
    """
    seen = look() if look else look_around(photo, panel, centre_mm)
    return _repeat_of(seen, panel, centre_mm, marked, construction, pieces, marks)


def find_unmarked(photo: Photo, panel: Panel) -> tuple[TurningCentre, Repeat] | None:
    """Find the centre of a pattern that no mark tells, and how often it repeats; None where nothing repeats."""
    view = colour_view(photo, panel, SIDE_PX)
    centre = find_turning_centre(view)
    if centre is None:
        return None
    repeat = _repeat_of(_look(view, panel, centre.xy_mm), panel, centre.xy_mm)
    return (centre, repeat) if repeat.order is not None and repeat.likeness > LEAST_UNMARKED else None


def _look(view: ColourView, panel: Panel, centre_mm: Floats) -> Look | None:
    outermost = min(panel.width_mm / 2 - abs(centre_mm[0]), panel.height_mm / 2 - abs(centre_mm[1])) - EDGE_MM
    if outermost < 20:
        return None
    picture = banded(view)
    radii, circles = around(edges(view, picture), view, centre_mm, outermost)
    return Look(view, picture, float(outermost), radii, circles)


def _repeat_of(
    look: Look | None,
    panel: Panel,
    centre_mm: Floats,
    marked: int | None = None,
    construction: Sequence[Line] = (),
    pieces: Sequence[Floats] = (),
    marks: Marks | None = None,
) -> Repeat:
    if look is None:
        return Repeat(None, 0.0)
    view, picture, outermost, radii, circles = look
    by_edges = turning(radii, circles, marked)
    place = (float(centre_mm[0]), float(centre_mm[1]))
    if by_edges.order is None:
        return Repeat(None, by_edges.likeness, centre_mm=place)
    middle, rings = np.asarray(centre_mm, float), marks.rings if marks else ()
    zones = other_zones(radii, circles, by_edges.order, middle, rings)
    colours = around(picture, view, centre_mm, outermost)[1]
    for zone in zones:
        colours[(radii > zone.inner_mm) & (radii < zone.outer_mm)] = 0
    by_colour = turning(radii, colours)
    # Colours that alternate are compared two segments apart.
    order = alternating(by_colour, by_edges.order, LEAST_COMPARED)
    repeat = Repeat(by_edges.order, by_edges.likeness, order, centre_mm=place)
    if order < LEAST_COMPARED:
        return replace(repeat, notes=(Note("repeat_few", {"count": order}),))
    chalk = Chalk.of(marks, middle)
    segments = compare(unroll(view, panel, centre_mm, order, outermost, pieces), chalk)
    segments = without_lines(segments, centre_mm, construction)
    zones = tuple(zone for zone in zones if zone.inner_mm < segments.end_mm)
    segments = without_zones(segments, zones)
    heat = heat_of(segments)
    share, where = glare_of(segments)
    return replace(
        repeat,
        edge_mm=edge_mm(segments),
        colour=colour(segments),
        departures=departures_of(segments, heat, middle),
        left_out=tuple(int(k) + 1 for k in np.flatnonzero(~segments.finished)),
        mirror_likeness=segments.mirror.likeness,
        mirror_deg=segments.mirror.axis_deg if segments.mirror.mirrored else None,
        one_sided=one_sided_of(segments) if segments.mirror.mirrored else (),
        glare_share=share,
        glare_deg=where,
        notes=_notes(segments, share, where, zones),
        heat=heat,
    )


def _notes(
    segments: Segments, share: float, where: tuple[float, float] | None, zones: Sequence[Zone]
) -> tuple[Note, ...]:
    """What could not be judged."""
    found = []
    if where is not None and share > TOLD_GLARE:
        values = {"percent": round(100 * share), "start": clock(where[0]), "stop": clock(where[1])}
        found.append(Note("repeat_glare", values))
    left_out = int((~segments.finished).sum())
    if left_out:
        found.append(Note("repeat_unfinished", {"count": left_out, "of": len(segments.finished)}))
    if not segments.painted.mean() > LEAST_PAINTED:
        found.append(Note("repeat_little"))
    return (*found, *(Note("repeat_other_count", asdict(zone)) for zone in zones))
