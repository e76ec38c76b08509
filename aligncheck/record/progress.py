"""What has changed from one stage to another, in one line: "Since Tuesday: 3 spokes moved, worst drift ..."."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from aligncheck.film.register import Registration, register
from aligncheck.record.history import moved_spokes, spoke_histories, worst_mm
from aligncheck.record.painted import mended
from aligncheck.record.record import Record
from aligncheck.record.results import read_result
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
WORST_STAYS = "worst drift {after} mm"
NOTHING = "nothing that can be compared"


def progress(record: Record, earlier: Stage, later: Stage) -> str:
    """Tell what changed between two measured stages of a record."""
    before, after = read_result(record, earlier), read_result(record, later)
    if not before or not after:
        return told(earlier.moment, later.moment, [])
    laid = register(before, before), register(after, before)
    return told(earlier.moment, later.moment, changes(before, after, laid))


def told(earlier: str, later: str, parts: list[str]) -> str:
    """One sentence of the changes from one moment to another, both ISO 8601."""
    return SINCE.format(when=since(earlier, later), what=", ".join(parts) or NOTHING)


def changes(before: Mapping[str, Any], after: Mapping[str, Any], laid: Sequence[Registration | None]) -> list[str]:
    """The changes between two result files, most telling first; `laid` puts both into one frame."""
    parts = []
    histories = spoke_histories([before, after], laid)
    if any(all(h.points) for h in histories):
        moved = len(moved_spokes(histories))
        parts.append(SPOKES_MOVED.format(spokes=count(moved, "spoke")) if moved else NONE_MOVED)
        first, now = worst_mm(histories, 0), worst_mm(histories, 1)
        # Spokes whose ends paint covers by now say nothing of how far those ends are off.
        if first is not None and now is not None:
            parts.append((WORST if moved else WORST_STAYS).format(before=f"{first:.1f}", after=f"{now:.1f}"))
    for key, word in (("petals", "petal"), ("dots", "dot")):
        more = len(after.get(key) or []) - len(before.get(key) or [])
        if more > 0:
            parts.append(f"{count(more, word)} {'more' if before.get(key) else 'new'}")
    right = mended(before, after, laid)
    parts += [f"{count(right.petals, 'short petal')} lengthened"] if right.petals else []
    parts += [f"{count(right.dots, 'missing dot')} painted"] if right.dots else []
    if bool(after.get("centrepiece")) != bool(before.get("centrepiece")):
        parts.append("centrepiece laid on" if after.get("centrepiece") else "centrepiece taken off")
    return parts


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
