"""What lies on the panel, in words: the ring it stays inside, how far it reaches, where the first row may start."""

from aligncheck.centrepiece import Centrepiece
from aligncheck.units import clock
from aligncheck.words import phrases
from aligncheck.words.summary import Summary

INSIDE = "Fits inside ring {ring}"
PAST = "Reaches past ring {ring}"
NO_RINGS = "Reaches {mm} mm"
CLOSE = "Between ring {ring} and {following}, too close to say"

SPARE = "Reaches {mm} mm from the centre, {spare} mm to spare at {where}"
REACHES = "Reaches {mm} mm from the centre at {where}, ± {u95} mm"

INSIDE_RING = "The piece stays inside ring {ring}, with {spare} mm to spare at {where}."
OUTSIDE_RINGS = "The piece reaches past ring {ring}."
TOO_CLOSE = "The piece stays inside ring {ring} or {following}, too close to say."
REACH = "It reaches {mm} mm from the centre at {where}, ± {u95} mm."
SEEN = "Its edge in the photo, raised as it is, shows {mm} mm."
START = "The first row may start {mm} mm from the centre, {clearance} mm kept free."
OFF_CENTRE = "Its middle lies {shift} of the centre, ± {u95} mm."
CENTRED = "Its middle lies on the centre, ± {u95} mm."
TURNED = "It is turned {deg}° {way} of the spokes, ± {u95}°."
SEGMENT = "From {start} to {stop}: {mm} mm, ± {u95} mm."
GAUGE_CENTRE = "centre"
GAUGE_FIGURE = "{mm} ± {u95} mm"
PLATE_REACHES = "reaches"
LEGEND_EDGE = "its edge in the photo"
LEGEND_REACH = "reach, sure to ± {u95} mm"
LEGEND_RING = "ring {ring}"
SEVERAL = "{count} pieces; the reach is the greatest of all."


def headline(piece: Centrepiece) -> tuple[str, str]:
    """The verdict on a piece and the line below it."""
    where = clock(piece.reach_deg)
    mm, u95 = phrases.mm(piece.reach_mm), phrases.plus_minus(piece.reach_u95_mm)
    if piece.ring is not None and piece.ring_spare_mm is not None:
        second = SPARE.format(mm=mm, spare=phrases.mm(piece.ring_spare_mm), where=where)
        return INSIDE.format(ring=piece.ring), second
    second = REACHES.format(mm=mm, where=where, u95=u95)
    if piece.ring_near is not None:
        return CLOSE.format(ring=piece.ring_near, following=piece.ring_near + 1), second
    if piece.past_ring is not None:
        return PAST.format(ring=piece.past_ring), second
    return NO_RINGS.format(mm=mm), second


def summarise_piece(piece: Centrepiece) -> Summary:
    """The verdict for the strip above a picture."""
    return Summary("piece", *headline(piece))


def piece_lines(piece: Centrepiece) -> list[str]:
    """The piece in two or three sentences, as they stand among the findings of a check."""
    where = clock(piece.reach_deg)
    lines = []
    if piece.ring is not None and piece.ring_spare_mm is not None:
        lines.append(INSIDE_RING.format(ring=piece.ring, spare=phrases.mm(piece.ring_spare_mm), where=where))
    elif piece.ring_near is not None:
        lines.append(TOO_CLOSE.format(ring=piece.ring_near, following=piece.ring_near + 1))
    elif piece.past_ring is not None:
        lines.append(OUTSIDE_RINGS.format(ring=piece.past_ring))
    u95 = phrases.plus_minus(piece.reach_u95_mm)
    lines.append(REACH.format(mm=phrases.mm(piece.reach_mm), where=where, u95=u95))
    return lines


def reach_lines(piece: Centrepiece) -> list[str]:
    """The piece in full."""
    first, second = headline(piece)
    own = piece.arrangement
    lines = [first, second, SEEN.format(mm=phrases.mm(piece.seen_reach_mm))]
    if len(piece.pieces_mm) > 1:
        lines.append(SEVERAL.format(count=len(piece.pieces_mm)))
    lines.append(START.format(mm=phrases.mm(piece.start_radius_mm), clearance=phrases.mm(piece.clearance_mm)))
    moved = phrases.shift(*own.off_centre_mm)
    u95 = phrases.plus_minus(own.off_centre_u95_mm)
    lines.append(OFF_CENTRE.format(shift=moved, u95=u95) if moved else CENTRED.format(u95=u95))
    if own.turn_deg is not None and own.turn_u95_deg is not None:
        way = phrases.turning(own.turn_deg)
        lines.append(TURNED.format(deg=f"{abs(own.turn_deg):.1f}", way=way, u95=f"{max(own.turn_u95_deg, 0.1):.1f}"))
    width = 360.0 / len(piece.segments) if piece.segments else 0.0
    for one in piece.segments:
        start, stop = clock(one.from_deg), clock(one.from_deg + width)
        u95 = phrases.plus_minus(one.reach_u95_mm)
        lines.append(SEGMENT.format(start=start, stop=stop, mm=phrases.mm(one.reach_mm), u95=u95))
    return lines
