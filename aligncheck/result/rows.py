"""One table of many photos: a row a spoke, a ring, or a photo that was not measured, for a spreadsheet."""

import io
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from aligncheck.files import write_all
from aligncheck.result.numbers import number

if TYPE_CHECKING:
    from aligncheck.drift import RingDrift, SpokeDrift
    from aligncheck.result.as_result import Checked

COLUMNS = (
    "photo", "taken", "mark", "number", "angle_deg", "angle_u95_deg", "ideal_deg", "drift_deg", "drift_u95_deg",
    "miss_mm", "miss_u95_mm", "move_mm", "move_u95_mm", "radius_mm", "radius_u95_mm", "ideal_radius_mm", "drift_mm",
    "drift_u95_mm", "off_centre_mm", "off_centre_u95_mm", "roundness_mm", "verdict", "note",
)  # fmt: skip

SPOKE_FIGURES = (
    "angle_deg", "angle_u95_deg", "ideal_deg", "drift_deg", "drift_u95_deg", "miss_mm", "miss_u95_mm",
    "move_mm", "move_u95_mm",
)  # fmt: skip

RING_FIGURES = (
    "radius_mm", "radius_u95_mm", "ideal_radius_mm", "drift_mm", "drift_u95_mm", "off_centre_mm",
    "off_centre_u95_mm", "roundness_mm",
)  # fmt: skip

Row = dict[str, object]


def rows_of(check: "Checked") -> Iterator[Row]:
    """The rows of one photo: spokes clockwise, counted from 12 o'clock, then rings outward."""
    about = {"photo": check.photo.path.name if check.photo.path else None, "taken": check.photo.taken}
    for place, spoke in enumerate(check.drift.spokes, 1):
        yield about | {"mark": "spoke", "number": place, "verdict": spoke.verdict} | _figures(spoke, SPOKE_FIGURES)
    for ring in check.drift.rings:
        yield about | {"mark": "ring", "number": ring.number, "verdict": ring.verdict} | _figures(ring, RING_FIGURES)


def refused_row(photo: Path, sentence: str) -> Row:
    """The row of a photo that was not measured."""
    return {"photo": photo.name, "mark": "not measured", "note": sentence}


def write_rows(rows: Iterable[Row], path: Path) -> None:
    """Write the table, all or nothing; a file of that name must be a table of ours."""
    import csv

    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    # The byte order mark is how spreadsheets know the text as UTF-8.
    write_all({path: text.getvalue().encode("utf-8-sig")}, is_our_table)


def is_our_table(path: Path) -> bool:
    """Whether a file is a table that this program wrote: its first line says so."""
    try:
        with path.open(encoding="utf-8-sig") as file:
            return path.is_file() and file.readline().strip() == ",".join(COLUMNS)
    except (OSError, ValueError):
        return False


def _figures(mark: "SpokeDrift | RingDrift", names: tuple[str, ...]) -> Row:
    return {name: number(getattr(mark, name)) for name in names}
