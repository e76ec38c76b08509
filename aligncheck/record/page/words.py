"""Words of the page that depend on figures."""

from collections.abc import Sequence
from typing import Any

from aligncheck.record.gallery import Gallery
from aligncheck.record.history import SpokeHistory
from aligncheck.record.worst import Worst
from aligncheck.words.phrases import spoke_words, turning

VERDICTS = {"within": "fits", "out": "move", "unsure": "too close to call"}


def corrected_lines(gallery: Gallery) -> list[str]:
    """One line for each spoke that was moved between two stages."""
    lines = []
    for moved in gallery.corrected():
        before, after = abs(moved.before.move_mm), abs(moved.after.move_mm)
        since, at = gallery.stages[moved.since].title, gallery.stages[moved.at].title
        lines.append(
            f"{spoke_words(moved.place)}: from {before:.1f} mm to {after:.1f} mm off, "
            f"between {moved.since + 1} {since} and {moved.at + 1} {at}."
        )
    return lines


def worst_words(worst: Sequence[Worst | None]) -> str:
    """The chart of the worst differences, for those who do not see it."""
    parts = [
        f"stage {k}: {kind} {mm:.1f} mm, plus or minus {max(u95, 0.1):.1f}, {VERDICTS.get(verdict, verdict)}"
        for k, (kind, mm, u95, verdict) in ((k, w) for k, w in enumerate(worst, 1) if w)
    ]
    return "Worst difference at each stage. " + "; ".join(parts[:24]) + "."


def chart_rows(histories: Sequence[SpokeHistory]) -> list[dict[str, Any]]:
    """A row for each spoke: what mends its outer end at each stage."""
    rows: list[dict[str, Any]] = []
    for history in histories:
        cells = []
        for point in history.points:
            if point is None or not point.whole:
                cells.append({"words": "end covered" if point else "not seen", "verdict": ""})
                continue
            way = turning(point.move_mm) if f"{abs(point.move_mm):.1f}" != "0.0" else ""
            words = f"{abs(point.move_mm):.1f} ± {max(point.u95_mm, 0.1):.1f} {way}".strip()
            cells.append({"words": words, "verdict": VERDICTS.get(point.verdict, "")})
        rows.append({"place": history.place, "cells": cells})
    return rows
