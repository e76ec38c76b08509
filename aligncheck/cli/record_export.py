"""`aligncheck record export`: page, handout and film of a piece."""

from pathlib import Path

from aligncheck.cli import DONE


def export_all(folder: Path, out: Path, film_edge_px: int | None) -> int:
    """Write everything that can be shown of a record into `out`."""
    from aligncheck.record.export import export_record

    for path in export_record(folder, out, film_edge_px=film_edge_px):
        print(path)  # noqa: T201 - this is the command's output
    return DONE
