"""What was found, as the lines that are printed: verdict, what to mend (worst first), what fits, remarks."""

import numpy as np

from aligncheck.drift import RingDrift, SpokeDrift
from aligncheck.words import phrases
from aligncheck.words.ranking import ranked, unseen
from aligncheck.words.seen import Seen, chalk_counts
from aligncheck.words.summary import summarise


def findings(check: Seen) -> list[str]:
    """Tell a finished check in plain sentences, the act first; one line each."""
    summary = summarise(check)
    # Below anything else the list begins, and says the same with its interval.
    below = [summary.second] if summary.kind == "fits" else []
    return [
        summary.headline,
        *below,
        *_amiss(check),
        *_mend(check),
        *_short(check),
        *_unsure(check),
        *_rest(check),
        *_piece(check),
        *_rows(check),
        *_repeat(check),
        *_painted(check),
        *off_centre(check),
        *remarks(check),
    ]


# Words of a later stage are loaded where the photo shows it: most show marks alone. A check that knows of no such stage
# says nothing of it.


def _piece(check: Seen) -> list[str]:
    """What lies on the panel."""
    piece = getattr(check, "centrepiece", None)
    if piece is None:
        return []
    from aligncheck.words.piece import piece_lines

    return piece_lines(piece)


def _short(check: Seen) -> list[str]:
    """Which petals are short."""
    rows = getattr(check, "rows", None)
    if rows is None:
        return []
    from aligncheck.words.petals import short_lines

    return short_lines(rows)


def _rows(check: Seen) -> list[str]:
    """What was traced, and how much of it the frame covers where that was told."""
    rows, margin = getattr(check, "rows", None), getattr(check, "margin", None)
    if rows is None:
        return []
    from aligncheck.words.petals import row_lines

    return row_lines(rows, None if margin is None else margin.rebate_mm)


def _amiss(check: Seen) -> list[str]:
    """Which dots are amiss."""
    dots = getattr(check, "dots", None)
    if dots is None:
        return []
    from aligncheck.words.dots import fault_lines

    return fault_lines(dots)


def _painted(check: Seen) -> list[str]:
    """How many dots there are and how they stand together."""
    dots = getattr(check, "dots", None)
    if dots is None:
        return []
    from aligncheck.words.dot_order import count_lines

    return count_lines(dots)


def _repeat(check: Seen) -> list[str]:
    """How well the segments repeat, where that was asked."""
    repeat = getattr(check, "repeat", None)
    if repeat is None:
        return []
    from aligncheck.words.repeats import repeat_lines
    from aligncheck.words.told import untold

    return repeat_lines(repeat, untold(check))


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
    if not chalk_counts(check):
        return []
    return [_sentence(item, phrases.MOVE_SPOKE, phrases.MOVE_RING) for item in ranked(check.drift, "out").items]


def _unsure(check: Seen) -> list[str]:
    """One line for each thing too close to call, and what may settle them; of what lies under paint only how many."""
    if not chalk_counts(check):
        off, unsure = ranked(check.drift, "out"), ranked(check.drift, "unsure")
        told = ((off, phrases.OFF_UNDER_PAINT), (unsure, phrases.UNSURE_UNDER_PAINT))
        return [words.format(what=phrases.counts(some.spokes, some.rings)) for some, words in told if some]
    items = ranked(check.drift, "unsure").items
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
