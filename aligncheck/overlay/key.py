"""Which signs a picture's legend must explain: those that are in it."""

from collections.abc import Sequence

from aligncheck.drift import Drift
from aligncheck.overlay.arrows import TIMES, Lengths
from aligncheck.overlay.layer import Layer, Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.signs import (
    ARROW_SIGN,
    BEAD_SIGN,
    DRAWN_SIGN,
    HOLLOW_SIGN,
    MORE_SIGN,
    PLAN_SIGN,
    SURE_SIGN,
    TOLERANCE_SIGN,
)
from aligncheck.words import phrases


def entries_of(
    drift: Drift, lengths: Lengths, layers: Sequence[Layer], placements: Placements, plan: bool
) -> list[Entry]:
    """The legend: signs of the layers, the arrows' factor, how sure, the tolerance, and what found no room."""
    entries = [entry for layer in layers for entry in layer.entries(placements)]
    verdicts = {s.verdict for s in drift.spokes} | {r.verdict for r in drift.rings}
    if "out" in verdicts:
        entries += [Entry(ARROW_SIGN, _arrow_words(lengths)), Entry(DRAWN_SIGN, phrases.LEGEND_DRAWN)]
    if plan:
        entries.append(Entry(PLAN_SIGN, phrases.LEGEND_PLAN))
    if "unsure" in verdicts:
        entries.append(Entry(HOLLOW_SIGN, phrases.LEGEND_TOO_CLOSE))
    entries += [Entry(SURE_SIGN, words) for words in _sure_words(drift)]
    if verdicts:
        tolerance = phrases.LEGEND_TOLERANCE.format(tolerance=phrases.mm(drift.tolerance_mm))
        entries.append(Entry(TOLERANCE_SIGN, tolerance))
    hidden = sum(placed is None for _, placed in placements)
    return entries + [Entry(MORE_SIGN, phrases.LEGEND_MORE.format(count=hidden))] * bool(hidden)


#: A later stage's layer explains at most so many signs, in words no longer than these.
MOST_SIGNS, LONGEST_WORDS = 4, "reach, sure to ± 10.0 mm"


def bound_on_entries(drift: Drift, more: int = 0) -> list[Entry]:
    """The longest legend this drift can lead to, before anything is placed, with `more` layers of later stages."""
    lengths = Lengths(TIMES[-1], (), cut=True)
    fit = phrases.count(len(drift.spokes), "spoke")
    first = Entry(BEAD_SIGN, phrases.LEGEND_FIT.format(what=fit, verb=phrases.fit(2)))
    hidden = Entry(MORE_SIGN, phrases.LEGEND_MORE.format(count=99))
    later = [Entry(PLAN_SIGN, LONGEST_WORDS)] * MOST_SIGNS * more
    return [first, *later, *entries_of(drift, lengths, (), (), plan=True), hidden]


def _arrow_words(lengths: Lengths) -> str:
    """How much longer than the move the arrows are."""
    words = phrases.LEGEND_MOVE if lengths.times > 1 else phrases.LEGEND_MOVE_TRUE
    return words.format(times=lengths.times) + (phrases.LEGEND_CUT if lengths.cut else "")


def _sure_words(drift: Drift) -> list[str]:
    """How sure the figures are, as one number or the range of them."""
    u95 = [s.move_u95_mm for s in drift.spokes] + [r.drift_u95_mm for r in drift.rings if r.verdict != "within"]
    if not u95:
        return []
    least, most = phrases.plus_minus(min(u95)), phrases.plus_minus(max(u95))
    if least == most:
        return [phrases.LEGEND_SURE.format(u95=most)]
    return [phrases.LEGEND_SURE_RANGE.format(least=least, most=most)]
