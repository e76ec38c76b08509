"""Painted dots in words: which are missing, too big, off their place, run together or of another paint."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots import Arrangement, Dot, Dots, MissingDot
from aligncheck.dots.arrangement import Merged, Misplaced, OtherPaint
from aligncheck.geometry.angles import bearing
from aligncheck.units import clock
from aligncheck.words import phrases

Floats = NDArray[np.float64]

RING = "Ring at {mm} mm, {place}"
BETWEEN = "Rings at {least} and {most} mm, {place}"
MISSING = "{where}: a dot of {size} mm is missing."
TOO_BIG = "{where}: dot {size} mm across, ± {u95} mm, its like are {usual} mm."
MISPLACED = "{where}: dot {way}, ± {u95} mm."
TOO_FAR = "{mm} mm too far {way}"
MERGED = "{where}: two dots have run together."
OTHER_PAINT = "{where}: dot in {paint}, its like are {usual}."
THIS_PAINT = "the colour {rgb}"
#: So many dots of one fault get a line each; of more, the rest is counted.
NAMED = 12
MORE = "{count} more of these in the result file."

HEADLINE_MISSING, HEADLINE_BIG, HEADLINE_OFF = "missing", "too big", "off place"
HEADLINE_MERGED, HEADLINE_OTHER = "run together", "in another colour"
ALL_IN_PLACE = "Every dot is in its place"
NONE_WRONG = "{what}: none missing, none too big"
FIRST_MISSING = "Missing: {place}, {mm} mm from the centre, {size} mm wide"
FIRST_BIG = "Too big: {place}, {mm} mm from the centre, {more} mm too wide"
FIRST_OFF = "Off its place: {place}, {mm} mm from the centre, {way}"
FIRST_MERGED = "Run together: {place}, {mm} mm from the centre"
FIRST_OTHER = "In another colour: {place}, {mm} mm from the centre"
#: On the plates and in the legend.
MISSING_NAME, BIG_NAME, OFF_NAME = "missing", "too big", "off its place"
MERGED_NAME, OTHER_NAME, FIT_NAME = "run together", "other colour", "{what} fit"

#: Shifts smaller than this, mm, are not told beside a larger one.
TOLD_MM = 0.3


def arrangement_of(dots: Dots) -> Arrangement:
    """How the dots stand together; where that was not looked at, nothing."""
    return dots.arrangement or Arrangement()


def place(dots: Dots, xy_mm: Floats) -> tuple[str, str]:
    """Where a point of the panel is: by the clock, and how far from the centre in mm."""
    arm = xy_mm - dots.centre_mm
    return clock(float(bearing(arm))), f"{float((arm @ arm) ** 0.5):.0f}"


def excess_mm(dots: Dots, dot: Dot) -> float:
    """How much wider a dot is than its like."""
    return dot.diameter_mm - usual_mm(dots, dot)


def usual_mm(dots: Dots, dot: Dot) -> float:
    """How wide a dot's like are."""
    return dots.kinds[dot.kind].diameter_mm if dot.kind is not None else dot.diameter_mm


def way(one: Misplaced) -> str:
    """Which way a dot lies off, the larger part first."""
    parts = [
        (one.clockwise_mm, phrases.turning(one.clockwise_mm)),
        (one.outward_mm, "out" if one.outward_mm > 0 else "in"),
    ]
    parts.sort(key=lambda part: -abs(part[0]))
    told = [p for k, p in enumerate(parts) if k == 0 or abs(p[0]) >= TOLD_MM]
    return phrases.listed([TOO_FAR.format(mm=phrases.mm(size), way=words) for size, words in told])


def headline(dots: Dots) -> tuple[str, str]:
    """What is wrong with the dots, and where to look first; or that nothing is."""
    a = arrangement_of(dots)
    counts = (
        (len(dots.missing), HEADLINE_MISSING), (len(dots.oversize), HEADLINE_BIG), (2 * len(a.merged), HEADLINE_MERGED),
        (len(a.misplaced), HEADLINE_OFF), (len(a.other_paint), HEADLINE_OTHER),
    )  # fmt: skip
    told = [(number, words) for number, words in counts if number]
    if not told:
        return ALL_IN_PLACE, NONE_WRONG.format(what=phrases.count(len(dots.dots), "dot"))
    number, words = told[0]
    parts = [f"{phrases.count(number, 'dot')} {words}", *(f"{number} {words}" for number, words in told[1:])]
    return ", ".join(parts), _first(dots, a)


def _first(dots: Dots, a: Arrangement) -> str:
    """Where to look first."""
    if dots.missing:
        where, mm = place(dots, dots.missing[0].centre_mm)
        return FIRST_MISSING.format(place=where, mm=mm, size=phrases.mm(dots.missing[0].diameter_mm))
    if dots.oversize:
        where, mm = place(dots, dots.oversize[0].centre_mm)
        return FIRST_BIG.format(place=where, mm=mm, more=phrases.mm(excess_mm(dots, dots.oversize[0])))
    if a.merged:
        where, mm = place(dots, a.merged[0].middle_mm)
        return FIRST_MERGED.format(place=where, mm=mm)
    if a.misplaced:
        where, mm = place(dots, dots.dots[a.misplaced[0].dot].centre_mm)
        return FIRST_OFF.format(place=where, mm=mm, way=way(a.misplaced[0]))
    where, mm = place(dots, dots.dots[a.other_paint[0].dot].centre_mm)
    return FIRST_OTHER.format(place=where, mm=mm)


def fault_lines(dots: Dots) -> list[str]:
    """One line for each dot that is amiss, fault by fault."""
    return gap_and_size_lines(dots) + other_lines(dots)


def gap_and_size_lines(dots: Dots) -> list[str]:
    """The dots that are missing or too big."""
    a = arrangement_of(dots)
    return [
        *_told(dots, [(gap.centre_mm, _missing(dots, a, gap)) for gap in dots.missing]),
        *_told(dots, [(dot.centre_mm, _too_big(dots, a, dot)) for dot in dots.oversize]),
    ]


def other_lines(dots: Dots) -> list[str]:
    """The dots that have run together, lie off their place or are of another paint."""
    a = arrangement_of(dots)
    return [
        *_told(dots, [(one.middle_mm, _merged(dots, a, one)) for one in a.merged]),
        *_told(dots, [(dots.dots[one.dot].centre_mm, _misplaced(dots, a, one)) for one in a.misplaced]),
        *_told(dots, [(dots.dots[one.dot].centre_mm, _other(dots, a, one)) for one in a.other_paint]),
    ]


def _told(dots: Dots, faults: list[tuple[Floats, str]]) -> list[str]:
    """The lines of one fault from the inside out and by the clock; of many the rest is counted."""

    def order(fault: tuple[Floats, str]) -> tuple[int, float]:
        return round(float(np.hypot(*(fault[0] - dots.centre_mm)))), _bearing(dots, fault[0])

    lines = [words for _, words in sorted(faults, key=order)]
    return lines[:NAMED] + [MORE.format(count=len(lines) - NAMED)] * (len(lines) > NAMED)


def _missing(dots: Dots, a: Arrangement, gap: MissingDot) -> str:
    return MISSING.format(where=_where(dots, a, gap.kind, gap.centre_mm), size=phrases.mm(gap.diameter_mm))


def _too_big(dots: Dots, a: Arrangement, dot: Dot) -> str:
    where = _where(dots, a, dot.kind, dot.centre_mm)
    size, u95 = phrases.mm(dot.diameter_mm), phrases.plus_minus(dot.diameter_u95_mm)
    return TOO_BIG.format(where=where, size=size, u95=u95, usual=phrases.mm(usual_mm(dots, dot)))


def _misplaced(dots: Dots, a: Arrangement, one: Misplaced) -> str:
    dot = dots.dots[one.dot]
    where = _where(dots, a, dot.kind, dot.centre_mm)
    return MISPLACED.format(where=where, way=way(one), u95=phrases.plus_minus(one.u95_mm))


def _merged(dots: Dots, a: Arrangement, one: Merged) -> str:
    rings = [a.ring_of(kind) for kind in one.kinds]
    radii = sorted({f"{ring.radius_mm:.0f}" for ring in rings if ring is not None}, key=float)
    where = clock(_bearing(dots, one.middle_mm))
    if len(radii) == 2:
        return MERGED.format(where=BETWEEN.format(least=radii[0], most=radii[1], place=where))
    return MERGED.format(where=_where(dots, a, one.kinds[0], one.middle_mm))


def _other(dots: Dots, a: Arrangement, one: OtherPaint) -> str:
    dot = dots.dots[one.dot]
    names = [a.paints[k].name or THIS_PAINT.format(rgb=a.paints[k].rgb) for k in (one.paint, one.usual)]
    return OTHER_PAINT.format(where=_where(dots, a, dot.kind, dot.centre_mm), paint=names[0], usual=names[1])


def _where(dots: Dots, a: Arrangement, kind: int | None, xy_mm: Floats) -> str:
    """Ring and clock position; of a dot that stands on no ring its own distance."""
    where, mm = place(dots, xy_mm)
    ring = a.ring_of(kind)
    return RING.format(mm=mm if ring is None else f"{ring.radius_mm:.0f}", place=where)


def _bearing(dots: Dots, xy_mm: Floats) -> float:
    return float(bearing(xy_mm - dots.centre_mm))
