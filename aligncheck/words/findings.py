"""What was found, as the lines that are printed: verdict, what to mend (worst first), what fits, remarks."""

from aligncheck.drift import RingDrift, SpokeDrift
from aligncheck.words import phrases
from aligncheck.words.ranking import ranked, unseen
from aligncheck.words.seen import Seen
from aligncheck.words.summary import summarise


def findings(check: Seen) -> list[str]:
    """Tell a finished check in plain sentences, the act first; one line each."""
    summary = summarise(check)
    return [summary.headline, summary.second, *_mend(check), *_unsure(check), *_rest(check), *remarks(check)]


def remarks(check: Seen) -> list[str]:
    """The notes as sentences, each said once."""
    return list(dict.fromkeys(note.text for note in check.notes))


def _mend(check: Seen) -> list[str]:
    """One line for each thing to move."""
    return [_sentence(item, phrases.MOVE_SPOKE, phrases.MOVE_RING) for item in ranked(check.drift, "out").items]


def _unsure(check: Seen) -> list[str]:
    """One line for each thing too close to call, and what may settle them."""
    items = ranked(check.drift, "unsure").items
    lines = [_sentence(item, phrases.PERHAPS_SPOKE, phrases.PERHAPS_RING) for item in items]
    return lines + [phrases.ANOTHER_PHOTO] * bool(lines)


def _rest(check: Seen) -> list[str]:
    """What fits, and which places were not seen at all."""
    fit, missing = ranked(check.drift, "within"), unseen(check.drift)
    lines = []
    # "Everything fits" has said it already.
    if fit and summarise(check).kind != "fits":
        every_ring = fit.rings == len(check.drift.rings)
        words = phrases.counts(fit.spokes, fit.rings, every_ring)
        tolerance = phrases.mm(check.drift.tolerance_mm)
        lines.append(
            phrases.FIT_WITHIN.format(
                what=words[0].upper() + words[1:], verb=phrases.fit(len(fit)), tolerance=tolerance
            )
        )
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
