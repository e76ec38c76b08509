"""A finished check as what the page shows: plain values, ready to be sent, kept and laid out."""

from dataclasses import replace
from typing import Any

import numpy as np

from aligncheck.bench.compare import lies
from aligncheck.bench.later import later_rows, row_sentences
from aligncheck.checking import Check
from aligncheck.drift import RingDrift, SpokeDrift
from aligncheck.overlay.page import PagePicture
from aligncheck.result import as_result
from aligncheck.words import findings, phrases, summarise
from aligncheck.words.plain import plain_lines
from aligncheck.words.ranking import places, ranked, unseen
from aligncheck.words.seen import chalk_counts

Row = dict[str, Any]

#: What later stages add to a check.
LATER = ("centrepiece", "placement", "rows", "petals", "dots", "missing_dots", "repeat", "margin")


def answer(check: Check, picture: PagePicture) -> dict[str, Any]:
    """Everything that the result page says of one check."""
    summary, drift = summarise(check), check.drift
    height, width = picture.image.shape[:2]
    fit = ranked(drift, "within")
    names = list(places(drift))
    to_move = chalk_counts(check)
    return {
        "kind": summary.kind,
        "headline": summary.headline,
        "second": summary.second,
        "stage": check.stage,
        "panel_mm": [check.panel.width_mm, check.panel.height_mm],
        "segments": drift.marks.segments,
        "tolerance_mm": drift.tolerance_mm,
        "times": picture.times,
        "cut": picture.cut,
        "picture_px": [width, height],
        "moves": [_row(item, drift.spokes) for item in ranked(drift, "out").items if to_move],
        "unsure": [_row(item, drift.spokes) for item in ranked(drift, "unsure").items if to_move],
        "fit": _fit_words(fit.spokes, fit.rings, len(drift.rings), drift.tolerance_mm) if fit else None,
        "unseen": phrases.NOT_SEEN.format(what=phrases.spokes_at(unseen(drift))) if unseen(drift) else None,
        "later": later_rows(check),
        "also": _also(check),
        "lies": lies(as_result(check)),
        "spokes": [
            _spoke(s, name, drawn) for s, name, drawn in zip(drift.spokes, names, picture.spokes_px, strict=True)
        ],
        "rings": [_ring(r) for r in drift.rings],
    }


def _row(item: tuple[str, SpokeDrift] | RingDrift, spokes: tuple[SpokeDrift, ...]) -> Row:
    """One thing to move, or perhaps to move."""
    if isinstance(item, RingDrift):
        return {"what": "ring", **_ring(item)}
    place, spoke = item
    index = next(k for k, s in enumerate(spokes) if s is spoke)
    return {"what": "spoke", "index": index, **_spoke(spoke, place, None)}


def _spoke(spoke: SpokeDrift, place: str, drawn: Any) -> Row:
    return {
        "place": place,
        "ideal_deg": round(spoke.ideal_deg, 2),
        "move_mm": round(spoke.move_mm, 3),
        "move_u95_mm": round(spoke.move_u95_mm, 3),
        "way": phrases.turning(spoke.move_mm),
        "miss_mm": round(spoke.miss_mm, 3),
        "miss_u95_mm": round(spoke.miss_u95_mm, 3),
        "long_mm": round(float(np.hypot(*np.subtract(spoke.spoke.outer_mm, spoke.spoke.inner_mm))), 1),
        "verdict": spoke.verdict,
        "drawn_px": None if drawn is None else np.round(drawn, 1).tolist(),
    }


def _ring(ring: RingDrift) -> Row:
    return {
        "number": ring.number,
        "drift_mm": round(ring.drift_mm, 3),
        "drift_u95_mm": round(ring.drift_u95_mm, 3),
        "radius_mm": round(ring.radius_mm, 2),
        "way": phrases.ring_way(ring.drift_mm),
        "verdict": ring.verdict,
    }


def _fit_words(spokes: int, rings: int, all_rings: int, tolerance_mm: float) -> str:
    words = phrases.counts(spokes, rings, rings == all_rings)
    return phrases.FIT_WITHIN.format(
        what=words[0].upper() + words[1:], verb=phrases.fit(spokes + rings), tolerance=phrases.mm(tolerance_mm)
    )


def _also(check: Check) -> list[str]:
    """What is told beyond spokes and rings: later stages, remarks, centres.

    Later stages add sentences of their own to the findings. So this asks for the findings as they are, and takes away
    those that spokes and rings alone give.
    """
    bare = replace(check.drift, centre_off_panel_mm=0.0, spokes_meet_mm=None, rings=_centred(check.drift.rings))
    later: dict[str, Any] = {name: None for name in LATER if hasattr(check, name)}
    alone = set(findings(replace(check, drift=bare, notes=(), **later)))
    summary = summarise(check)
    alone |= {summary.headline, summary.second} | row_sentences(check)
    return [line for line in plain_lines(findings(check)) if line not in alone]


def _centred(rings: tuple[RingDrift, ...]) -> tuple[RingDrift, ...]:
    return tuple(replace(ring, off_centre_mm=0.0) for ring in rings)
