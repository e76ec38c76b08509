"""The repeat test in words: how many segments, how alike, and where one is unlike the others."""

from aligncheck.repeat import Repeat
from aligncheck.units import clock
from aligncheck.words import phrases

SEGMENTS = (
    "The design repeats {order} times; edges differ by {edge} mm on average, colours by {colour} (1 is just seen)."
)
COLOURS = "Its colours repeat {order} times."
PLACE = "Unlike the other segments: {place}, {radius} mm from the centre, about {across} mm across."
MORE = "{what} more, less unlike, in the result file."
MIRRORED = "The flanks of a segment mirror each other and were compared too."
ONE_FLANK = "On one flank only, in every segment: {radius} mm from the centre, about {across} mm across."
NOTHING = "Nothing repeats clearly, so no segment could be compared with another."
LEGEND = "unlike the other segments"
#: So many places are named in the findings.
NAMED = 3


def repeat_lines(repeat: Repeat) -> list[str]:
    """The test in a few sentences, the most unlike place first."""
    if repeat.order is None:
        return [NOTHING]
    lines = []
    if repeat.edge_mm is not None and repeat.colour is not None:
        edge, colour = phrases.mm(repeat.edge_mm), f"{repeat.colour:.1f}"
        lines.append(SEGMENTS.format(order=repeat.order, edge=edge, colour=colour))
    if repeat.colour_order and repeat.colour_order != repeat.order:
        lines.append(COLOURS.format(order=repeat.colour_order))
    if repeat.mirror_deg is not None:
        lines.append(MIRRORED)
    for one in repeat.departures[:NAMED]:
        across, radius = _across(one.area_mm2), phrases.mm(one.radius_mm)
        lines.append(PLACE.format(place=clock(one.angle_deg), radius=radius, across=across))
    if len(repeat.departures) > NAMED:
        lines.append(MORE.format(what=phrases.count(len(repeat.departures) - NAMED, "place")))
    lines += [
        ONE_FLANK.format(radius=phrases.mm(o.radius_mm), across=_across(o.area_mm2)) for o in repeat.one_sided[:1]
    ]
    return lines


def _across(area_mm2: float) -> str:
    """How wide a place of this area is."""
    return phrases.mm(2 * (area_mm2 / 3.1416) ** 0.5)
