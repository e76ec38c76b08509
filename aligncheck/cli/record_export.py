"""`aligncheck record export`: page, handout and film of a piece."""

import sys
from pathlib import Path

from aligncheck.cli import DONE


def export_all(folder: Path, out: Path, film_edge_px: int | None) -> int:
    """Write everything that can be shown of a record into `out`."""
    from aligncheck.record.export import export_record

    try:
        written = export_record(folder, out, film_edge_px=film_edge_px, progress=_bar)
    finally:
        _wipe()
    for path in written:
        print(path)  # noqa: T201 - this is the command's output
    return DONE


def _bar(done: int, of: int) -> None:
    """A line of progress, only where someone is looking."""
    if sys.stderr.isatty():
        filled = round(24 * done / max(of, 1))
        sys.stderr.write(f"\r[{'#' * filled}{'.' * (24 - filled)}] {100 * done // max(of, 1):3d} %")
        sys.stderr.flush()


def _wipe() -> None:
    if sys.stderr.isatty():
        sys.stderr.write("\r\x1b[K")
        sys.stderr.flush()
