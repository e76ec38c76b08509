"""What was found, as the lines that are printed: verdict, what to mend (worst first), what fits, remarks."""

from collections.abc import Callable
from functools import partial

import numpy as np

from aligncheck.dots import Dots
from aligncheck.drift import RingDrift, SpokeDrift
from aligncheck.rows import Rows
from aligncheck.words import phrases
from aligncheck.words.dot_order import count_lines
from aligncheck.words.dots import fault_lines
from aligncheck.words.petals import row_lines, short_lines
from aligncheck.words.piece import piece_lines
from aligncheck.words.ranking import ranked, unseen
from aligncheck.words.repeats import repeat_lines
from aligncheck.words.seen import Seen
from aligncheck.words.summary import summarise


def findings(check: Seen) -> list[str]:
    """Tell a finished check in plain sentences, the act first; one line each."""
    summary = summarise(check)
    return [
        summary.headline,
        summary.second,
        *_dots(check, fault_lines),
        *_mend(check),
        *_petals(check, short_lines),
        *_unsure(check),
        *_rest(check),
        *_piece(check),
        *_petals(check, partial(row_lines, rebate_mm=_rebate_mm(check))),
        *_repeat(check),
        *_dots(check, count_lines),
        *off_centre(check),
        *remarks(check),
    ]


def _piece(check: Seen) -> list[str]:
    """What lies on the panel; checks that know of no such thing say nothing."""
    piece = getattr(check, "centrepiece", None)
    return piece_lines(piece) if piece is not None else []


def _petals(check: Seen, words: Callable[[Rows], list[str]]) -> list[str]:
    """What was traced, where anything was."""
    rows = getattr(check, "rows", None)
    return words(rows) if rows is not None else []


def _rebate_mm(check: Seen) -> float | None:
    """How far the frame covers each side, where that was told."""
    margin = getattr(check, "margin", None)
    return None if margin is None else margin.rebate_mm


def _dots(check: Seen, words: Callable[[Dots], list[str]]) -> list[str]:
    """What was painted, where anything was."""
    dots = getattr(check, "dots", None)
    return words(dots) if dots is not None else []


def _repeat(check: Seen) -> list[str]:
    """How well the segments repeat, where that was asked."""
    repeat = getattr(check, "repeat", None)
    return repeat_lines(repeat) if repeat is not None else []


def remarks(check: Seen) -> list[str]:
    """The notes as sentences, each said once."""
    return list(dict.fromkeys(note.text for note in check.notes))


def off_centre(check: Seen) -> list[str]:
    """What does not share the centre it should, where that is surely more than the tolerance."""
    drift = check.drift
    centre = np.array(drift.centre_mm)
    lines = []
    if drift.centre_off_panel_mm - drift.centre_off_panel_u95_mm > drift.tolerance_mm:
        u95 = phrases.plus_minus(drift.centre_off_panel_u95_mm)
        lines.append(phrases.CENTRE_OFF.format(where=phrases.shift(*centre), u95=u95))
    if drift.spokes_meet_mm is not None and drift.spokes_meet_u95_mm is not None:
        miss = np.array(drift.spokes_meet_mm) - centre
        if float(np.hypot(*miss)) - drift.spokes_meet_u95_mm > drift.tolerance_mm:
            u95 = phrases.plus_minus(drift.spokes_meet_u95_mm)
            lines.append(phrases.SPOKES_MISS.format(where=phrases.shift(*miss), u95=u95))
    for ring in drift.rings:
        if ring.off_centre_mm - ring.off_centre_u95_mm > drift.tolerance_mm:
            where = phrases.shift(*(ring.ring.centre_mm - centre))
            u95 = phrases.plus_minus(ring.off_centre_u95_mm)
            lines.append(phrases.RING_OFF.format(number=ring.number, where=where, u95=u95))
    return lines


def _mend(check: Seen) -> list[str]:
    """One line for each thing to move."""
    return [_sentence(item, phrases.MOVE_SPOKE, phrases.MOVE_RING) for item in ranked(check.drift, "out").items]


def _unsure(check: Seen) -> list[str]:
    """One line for each thing too close to call, and what may settle them; under paint nothing would."""
    unsure = ranked(check.drift, "unsure")
    items = unsure.items
    if items and getattr(check, "dots", None) is not None:
        return [phrases.UNDER_PAINT.format(what=_capital(phrases.counts(unsure.spokes, unsure.rings)))]
    lines = [_sentence(item, phrases.PERHAPS_SPOKE, phrases.PERHAPS_RING) for item in items]
    return lines + [phrases.ANOTHER_PHOTO] * bool(lines)


def _rest(check: Seen) -> list[str]:
    """What fits, and which places were not seen at all."""
    fit, missing = ranked(check.drift, "within"), unseen(check.drift)
    lines = []
    # "Everything fits" has said it already.
    if fit and summarise(check).headline != phrases.EVERYTHING_FITS:
        every_ring = fit.rings == len(check.drift.rings)
        words = phrases.counts(fit.spokes, fit.rings, every_ring)
        tolerance = phrases.mm(check.drift.tolerance_mm)
        lines.append(phrases.FIT_WITHIN.format(what=_capital(words), verb=phrases.fit(len(fit)), tolerance=tolerance))
    if missing:
        lines.append(phrases.NOT_SEEN.format(what=phrases.spokes_at(missing)))
    return lines


def _sentence(item: tuple[str, SpokeDrift] | RingDrift, spoke_words: str, ring_words: str) -> str:
    """Fill in the sentence for a spoke or a ring."""
    if isinstance(item, RingDrift):
        return ring_words.format(
            number=item.number,
            mm=phrases.mm(item.drift_mm),
            way=phrases.ring_way(item.drift_mm),
            u95=phrases.plus_minus(item.drift_u95_mm),
        )
    place, spoke = item
    return spoke_words.format(
        spoke=phrases.spoke_words(place),
        mm=phrases.mm(spoke.move_mm),
        way=phrases.turning(spoke.move_mm),
        u95=phrases.plus_minus(spoke.move_u95_mm),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
