"""How the dots stand together, in words: rings, walked runs, how even the gaps are, and the paints."""

import numpy as np

from aligncheck.dots import Arrangement, Dots
from aligncheck.units import clock
from aligncheck.words import phrases

COUNTED = "{what}{rings}, {least} to {most} mm across."
IN_RINGS = " in {rings}"
RUNS = "{what} in each segment, of {dots} dots; each dot about {step} of the one before it."
GAPS = "Gaps within the rings are even to ± {even} mm; least even: ring at {mm} mm, {place}, {off} mm {way}."
WIDER, NARROWER = "wider than its like", "narrower than its like"
PAINTS = "{what} of paint: {each}."
PAINT = "{what} in {name}"
NAME_THEM = " Give your list of paints with --paints to name them."

#: Gaps that stray less than this, mm, are as even as anyone sees.
EVEN_MM = 0.2


def count_lines(dots: Dots) -> list[str]:
    """How many dots there are, and how they stand together."""
    sizes = sorted(d.diameter_mm for d in dots.dots)
    if not sizes:
        return []
    a = dots.arrangement or Arrangement()
    rings = IN_RINGS.format(rings=phrases.count(len(a.rings), "ring")) if a.rings else ""
    what = phrases.count(len(sizes), "dot")
    lines = [COUNTED.format(what=what, rings=rings, least=phrases.mm(sizes[0]), most=phrases.mm(sizes[-1]))]
    return [*lines, *_gaps(a), *_runs(a), *_paints(a)]


def _gaps(a: Arrangement) -> list[str]:
    """How even the rings are, and where they are least so: there a ring was closed."""
    even = [ring.uneven_mm for ring in a.rings if ring.uneven_mm is not None]
    if not even or max(even) < EVEN_MM:
        return []
    worst = max((r for r in a.rings if r.closing_off_mm is not None), key=lambda r: abs(r.closing_off_mm or 0.0))
    off, at = worst.closing_off_mm or 0.0, worst.closing_deg or 0.0
    typical = phrases.plus_minus(1.96 * float(np.median(even)))
    return [
        GAPS.format(
            even=typical,
            mm=f"{worst.radius_mm:.0f}",
            place=clock(at),
            off=phrases.mm(off),
            way=WIDER if off > 0 else NARROWER,
        )
    ]


def _runs(a: Arrangement) -> list[str]:
    if not a.runs:
        return []
    lengths = sorted({len(run.kinds) for run in a.runs})
    dots = f"{lengths[0]}" if len(lengths) == 1 else f"{lengths[0]} to {lengths[-1]}"
    step = float(np.median([run.step for run in a.runs]))
    return [RUNS.format(what=phrases.count(len(a.runs), "walked run"), dots=dots, step=f"{step:.2f}")]


def _paints(a: Arrangement) -> list[str]:
    if not a.paints:
        return []
    each = [PAINT.format(what=phrases.count(p.count, "dot"), name=p.name or p.rgb) for p in a.paints]
    unnamed = not any(p.name for p in a.paints)
    return [PAINTS.format(what=phrases.count(len(a.paints), "colour"), each=phrases.listed(each)) + NAME_THEM * unnamed]
