"""What has changed from one stage to another, in one line: "since Tuesday: 3 spokes moved, worst drift ..."."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import numpy as np

from aligncheck.film.register import register
from aligncheck.geometry.projective import apply_homography
from aligncheck.record.record import Record
from aligncheck.record.results import read_result, worst_spoke_mm
from aligncheck.record.stage import Stage
from aligncheck.words.phrases import count

MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

SINCE = "Since {when}: {what}."
SPOKES_MOVED = "{spokes} moved"
NONE_MOVED = "no spoke moved"
WORST = "worst drift from {before} mm to {after} mm"
NOTHING = "nothing that can be compared"


def progress(record: Record, earlier: Stage, later: Stage) -> str:
    """Tell what changed between two measured stages."""
    before, after = read_result(record, earlier), read_result(record, later)
    parts = changes(before, after) if before and after else []
    return SINCE.format(when=since(earlier.moment, later.moment), what=", ".join(parts) or NOTHING)


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """The changes between two result files, most telling first."""
    parts = []
    if before["spokes"] and after["spokes"]:
        moved = moved_spokes(before, after)
        parts.append(SPOKES_MOVED.format(spokes=count(moved, "spoke")) if moved else NONE_MOVED)
        first, now = worst_spoke_mm(before), worst_spoke_mm(after)
        if first is not None and now is not None:
            parts.append(WORST.format(before=f"{first:.1f}", after=f"{now:.1f}"))
    for key, word in (("petals", "petal"), ("dots", "dot")):
        more = len(after.get(key) or []) - len(before.get(key) or [])
        if more > 0:
            parts.append(f"{count(more, word)} more" if before.get(key) else count(more, word))
    return parts


def moved_spokes(before: Mapping[str, Any], after: Mapping[str, Any]) -> int:
    """How many spokes end elsewhere, by more than both measurements' intervals allow."""
    laid = register(after, before)
    outer = {k: apply_homography(laid.matrix, np.array(s["outer_mm"])) for k, s in enumerate(after["spokes"])}
    moved = 0
    for spoke in before["spokes"]:
        inner, end = np.array(spoke["inner_mm"]), np.array(spoke["outer_mm"])
        along = (end - inner) / np.linalg.norm(end - inner)
        across = np.array([-along[1], along[0]])
        near = min(outer, key=lambda k: float(np.linalg.norm(outer[k] - end)))
        other = after["spokes"][near]
        shift = abs(float((outer[near] - end) @ across))
        # A neighbour is another spoke, not this one moved.
        if shift > np.linalg.norm(end) * np.radians(180.0 / max(len(before["spokes"]), 1)):
            continue
        moved += shift > float(np.hypot(spoke["move_u95_mm"], other["move_u95_mm"]))
    return moved


def since(earlier: str, later: str) -> str:
    """When the earlier moment was, as one says it at the later: "Tuesday", "12 May", "12 May 2025", "9:40"."""
    then, now = datetime.fromisoformat(earlier), datetime.fromisoformat(later)
    days = (now.date() - then.date()).days
    if days == 0:
        return f"{then.hour}:{then.minute:02d}"
    if 0 < days < 7:
        return DAYS[then.weekday()]
    return day(then, with_year=then.year != now.year)


def day(moment: datetime, with_year: bool = False) -> str:
    """A date as people write it: "12 May", "12 May 2026"."""
    return f"{moment.day} {MONTHS[moment.month - 1]}" + (f" {moment.year}" if with_year else "")
