"""The verdict on one photo: what to do, in two short lines."""

from dataclasses import dataclass
from typing import Literal

from aligncheck.drift import RingDrift
from aligncheck.words import phrases
from aligncheck.words.dots import headline as dot_headline
from aligncheck.words.petals import headline as petal_headline
from aligncheck.words.ranking import Ranked, ranked
from aligncheck.words.seen import Seen

Kind = Literal["fits", "move", "unsure", "refused", "piece", "dots"]


@dataclass(frozen=True)
class Summary:
    """Kind of verdict (it chooses the outline beside the words), headline and the line below it."""

    kind: Kind
    headline: str
    second: str


def summarise(check: Seen) -> Summary:
    """Say the act first: "Move 2 spokes", then the first of them; or that all fits, or what cannot be told.

    Once dots are painted it is they that count: nobody moves a chalk line under paint.
    """
    dots = getattr(check, "dots", None)
    if dots is not None:
        return Summary("dots" if dots.faulty else "fits", *dot_headline(dots))
    out, unsure = ranked(check.drift, "out"), ranked(check.drift, "unsure")
    fit = ranked(check.drift, "within")
    tolerance = phrases.mm(check.drift.tolerance_mm)
    acts = _acts(check, out)
    if acts:
        first, *more = (headline for headline, _ in acts)
        return Summary("move", ", ".join([first, *(m[0].lower() + m[1:] for m in more)]), acts[0][1])
    if unsure:
        headline = phrases.TOO_CLOSE.format(what=phrases.counts(unsure.spokes, unsure.rings))
        return Summary("unsure", headline, _others(fit, tolerance))
    what = phrases.counts(fit.spokes, fit.rings)
    return Summary("fits", phrases.EVERYTHING_FITS, phrases.ALL_WITHIN.format(what=what, tolerance=tolerance))


def _acts(check: Seen, out: Ranked) -> list[tuple[str, str]]:
    """What must be mended, marks before rows: each as a headline and the line below it."""
    acts = [(phrases.MOVE.format(what=phrases.counts(out.spokes, out.rings)), _first(out))] if out else []
    rows = getattr(check, "rows", None)
    if rows is not None and rows.short:
        acts.append(petal_headline(rows.short))
    return acts


def refused(reason: str) -> Summary:
    """The verdict where nothing could be measured."""
    return Summary("refused", phrases.NOT_MEASURED, reason)


def _first(out: Ranked) -> str:
    """Name the worst of what must move."""
    worst = out.items[0]
    if isinstance(worst, RingDrift):
        way = phrases.ring_way(worst.drift_mm)
        return phrases.FIRST_RING.format(number=worst.number, mm=phrases.mm(worst.drift_mm), way=way)
    place, spoke = worst
    return phrases.FIRST_SPOKE.format(place=place, mm=phrases.mm(spoke.move_mm), way=phrases.turning(spoke.move_mm))


def _others(fit: Ranked, tolerance: str) -> str:
    """Say what is sure where something is not."""
    if not fit:
        return phrases.PHOTOGRAPH_AGAIN
    return phrases.OTHERS_FIT.format(count=len(fit), tolerance=tolerance)
