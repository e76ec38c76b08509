"""The repeat test in words: how many segments, how alike, and where one is unlike the others."""

from collections.abc import Sequence

from aligncheck.repeat import Repeat
from aligncheck.repeat.repeat import Departure
from aligncheck.units import clock
from aligncheck.words import phrases

SEGMENTS = "The design repeats {order} times."
ALIKE = (
    "On average an edge lies {edge} mm off its place in the other segments; colours differ by {colour}, "
    "shine and shade included (1 is just seen)."
)
COLOURS = "Colours alternate: with them it repeats {order} times."
ALL_ALIKE = "Beside what is named here, no segment stands out from the others."
PLACES = {
    "less": "Paint is lacking that the other segments have: {place}, {radius} mm from the centre, {across} mm across.",
    "more": "Paint lies where the other segments have none: {place}, {radius} mm from the centre, {across} mm across.",
    "other": "Unlike the other segments: {place}, {radius} mm from the centre, {across} mm across.",
}
MORE = "{what} more, less unlike, in the result file."
MIRRORED = "The flanks of a segment mirror each other and were compared too."
ONE_FLANK = (
    "In every segment alike its two flanks differ: {radius} mm from the centre, over about {across} mm. "
    "If that is meant, leave it."
)
NOTHING = "Nothing repeats clearly, so no segment could be compared with another."
LEGEND = "unlike the other segments"
#: So many places are named in the findings.
NAMED = 3


def repeat_lines(repeat: Repeat, places: Sequence[Departure] | None = None) -> list[str]:
    """The test in a few sentences, the most unlike place first; `places`: those that no other line names."""
    if repeat.order is None:
        return [NOTHING]
    lines = [SEGMENTS.format(order=repeat.order)]
    if repeat.colour_order and repeat.colour_order != repeat.order:
        lines.append(COLOURS.format(order=repeat.colour_order))
    if repeat.edge_mm is None or repeat.colour is None:
        return lines
    lines.append(ALIKE.format(edge=phrases.mm(repeat.edge_mm), colour=f"{repeat.colour:.1f}"))
    if repeat.mirror_deg is not None:
        lines.append(MIRRORED)
    named = repeat.departures if places is None else places
    lines += [_line(one) for one in named[:NAMED]] if repeat.departures else [ALL_ALIKE]
    if len(named) > NAMED:
        lines.append(MORE.format(what=phrases.count(len(named) - NAMED, "place")))
    return lines + [
        ONE_FLANK.format(radius=phrases.mm(o.radius_mm), across=_across(o.area_mm2)) for o in repeat.one_sided[:1]
    ]


def _line(one: Departure) -> str:
    words = PLACES[one.paint]
    return words.format(place=clock(one.angle_deg), radius=f"{one.radius_mm:.0f}", across=_across(one.area_mm2))


def _across(area_mm2: float) -> str:
    """How wide a place of this area is."""
    return f"{2 * (area_mm2 / 3.1416) ** 0.5:.0f}"
