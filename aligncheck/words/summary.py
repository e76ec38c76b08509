"""The verdict on one photo: what to do, in two short lines."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from aligncheck.drift import RingDrift
from aligncheck.words import phrases
from aligncheck.words.ranking import Ranked, ranked
from aligncheck.words.seen import Seen

if TYPE_CHECKING:
    from aligncheck.dots import Dots

Kind = Literal["fits", "move", "unsure", "refused", "piece", "dots"]


class Summary(NamedTuple):
    """Kind of verdict (it chooses the outline beside the words), headline and the line below it."""

    kind: Kind
    headline: str
    second: str


def summarise(check: Seen) -> Summary:
    """Say the act first: "Move 2 spokes", then the first of them; or that all fits, or what cannot be told.

    Once dots are painted it is they that count, and petals that are still to be painted.
    """
    dots = getattr(check, "dots", None)
    if dots is not None:
        return _painted(dots, _short(check))
    out, unsure = ranked(check.drift, "out"), ranked(check.drift, "unsure")
    fit = ranked(check.drift, "within")
    tolerance = phrases.mm(check.drift.tolerance_mm)
    marks = [(phrases.MOVE.format(what=phrases.counts(out.spokes, out.rings)), _first(out))] if out else []
    acts = [*marks, *_short(check)]
    if acts:
        return Summary("move", *_together(acts))
    if unsure:
        headline = phrases.TOO_CLOSE.format(what=phrases.counts(unsure.spokes, unsure.rings))
        return Summary("unsure", headline, _others(fit, tolerance))
    what = phrases.counts(fit.spokes, fit.rings)
    return Summary("fits", phrases.EVERYTHING_FITS, phrases.ALL_WITHIN.format(what=what, tolerance=tolerance))


def _painted(dots: "Dots", short: Sequence[tuple[str, str]]) -> Summary:
    """What is amiss with the dots, then the petals that are short."""
    from aligncheck.words.dots import headline

    if dots.faulty:
        return Summary("dots", *_together([headline(dots), *short]))
    return Summary("move", *_together(short)) if short else Summary("fits", *headline(dots))


def _short(check: Seen) -> list[tuple[str, str]]:
    """The headline and the line below it of petals to be lengthened, where there are any."""
    rows = getattr(check, "rows", None)
    if rows is None or not rows.short:
        return []
    from aligncheck.words.petals import headline

    return [headline(rows.short)]


def _together(acts: Sequence[tuple[str, str]]) -> tuple[str, str]:
    """Several acts as one headline, and where to begin."""
    first, *more = (headline for headline, _ in acts)
    return ", ".join([first, *(m[0].lower() + m[1:] for m in more)]), acts[0][1]


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
