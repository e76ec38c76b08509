"""Painted dots in words: which are missing, which too big, and what there is of each kind."""

from aligncheck.dots import Dot, Dots, MissingDot
from aligncheck.geometry.angles import bearing
from aligncheck.units import clock
from aligncheck.words import phrases

MISSING = "{place}, {mm} mm from the centre: a dot of {size} mm is missing."
TOO_BIG = "{place}, {mm} mm from the centre: dot {size} mm across, ± {u95} mm, its like are {usual} mm."
HEADLINE_MISSING, HEADLINE_BIG = "{what} missing", "{count} too big"
FIRST = "First {place}, {mm} mm from the centre"
COUNTED = "{what} of {kinds}, {least} to {most} mm across."
MISSING_NAME, BIG_NAME = "missing", "too big"


def place(dots: Dots, one: Dot | MissingDot) -> tuple[str, str]:
    """Where a dot is or should be: by the clock, and how far from the centre in mm."""
    arm = one.centre_mm - dots.centre_mm
    return clock(float(bearing(arm))), f"{float((arm @ arm) ** 0.5):.0f}"


def headline(dots: Dots) -> tuple[str, str]:
    """What is wrong with the dots, and where to look first."""
    missing, big = len(dots.missing), len(dots.oversize)
    parts = [HEADLINE_MISSING.format(what=phrases.count(missing, "dot"))] if missing else []
    if big:
        parts.append(HEADLINE_BIG.format(count=big if missing else phrases.count(big, "dot")))
    first: Dot | MissingDot = dots.missing[0] if missing else dots.oversize[0]
    where, mm = place(dots, first)
    return ", ".join(parts), FIRST.format(place=where, mm=mm)


def fault_lines(dots: Dots) -> list[str]:
    """One line for each dot that is missing or too big."""
    lines = []
    for gap in dots.missing:
        where, mm = place(dots, gap)
        lines.append(MISSING.format(place=_capital(where), mm=mm, size=phrases.mm(gap.diameter_mm)))
    for dot in dots.oversize:
        where, mm = place(dots, dot)
        usual = dots.kinds[dot.kind].diameter_mm if dot.kind is not None else dot.diameter_mm
        lines.append(
            TOO_BIG.format(
                place=_capital(where),
                mm=mm,
                size=phrases.mm(dot.diameter_mm),
                u95=phrases.plus_minus(dot.diameter_u95_mm),
                usual=phrases.mm(usual),
            )
        )
    return lines


def count_lines(dots: Dots) -> list[str]:
    """How many dots there are, of how many kinds."""
    sizes = sorted(d.diameter_mm for d in dots.dots)
    if not sizes:
        return []
    kinds = phrases.count(max(len(dots.kinds), 1), "kind")
    what = phrases.count(len(sizes), "dot")
    return [COUNTED.format(what=what, kinds=kinds, least=phrases.mm(sizes[0]), most=phrases.mm(sizes[-1]))]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
