"""What is furthest off at each stage: a spoke, a ring, a petal or a dot."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from aligncheck.record.history import SpokeHistory

Result = Mapping[str, Any]

#: What must be mended goes before what may have to be, and that before what fits, whatever its size: each kind has a
#: tolerance of its own.
RANK = {"within": 0, "unsure": 1, "out": 2}


class Worst(NamedTuple):
    """A mark: its kind, how far it is off with the 95 % half-width, and the verdict."""

    kind: str
    mm: float
    u95_mm: float
    verdict: str


def worst_marks(results: Sequence[Result | None], histories: Sequence[SpokeHistory]) -> list[Worst | None]:
    """For each stage the mark that is furthest off; None where nothing was measured."""
    found = []
    for k, result in enumerate(results):
        points = [p for h in histories if (p := h.points[k]) and p.whole]
        marks = [*_petals(result or {}), *(painted := _dots(result or {}))]
        # Once dots are painted, nobody moves spokes and rings below them any more; a petal can still be lengthened.
        if not painted:
            marks += [Worst("spoke", abs(p.move_mm), p.u95_mm, p.verdict) for p in points]
            marks += _rings(result or {})
        found.append(max(marks, key=lambda m: (RANK.get(m.verdict, 0), m.mm), default=None))
    return found


def _rings(result: Result) -> list[Worst]:
    known = [r for r in result.get("rings") or () if r["drift_mm"] is not None]
    return [Worst("ring", abs(r["drift_mm"]), r["drift_u95_mm"] or 0.0, r["verdict"]) for r in known]


def _petals(result: Result) -> list[Worst]:
    """How far petals fall short of their row; longer ones are no fault."""
    known = [p for p in result.get("petals") or () if p.get("inward_mm") is not None]
    return [
        Worst("petal", max(p["inward_mm"], 0.0), p.get("inward_u95_mm") or 0.0, "out" if p.get("short") else "within")
        for p in known
    ]


def _dots(result: Result) -> list[Worst]:
    """By how much dots are larger than their like; of a missing one there is nothing to measure."""
    kinds = result.get("dot_kinds") or ()
    found = []
    for dot in result.get("dots") or ():
        kind = dot.get("kind")
        if kind is None or not 0 <= kind < len(kinds) or dot.get("diameter_mm") is None:
            continue
        over = max(dot["diameter_mm"] - kinds[kind]["diameter_mm"], 0.0)
        found.append(Worst("dot", over, dot.get("diameter_u95_mm") or 0.0, "out" if dot.get("oversize") else "within"))
    return found
