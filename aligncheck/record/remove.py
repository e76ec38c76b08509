"""Take a stage out of a record without deleting anything."""

import sqlite3
from contextlib import suppress
from pathlib import Path

from aligncheck.files import output_error
from aligncheck.record.disk import sync_folder
from aligncheck.record.index import open_index
from aligncheck.record.names import numbered
from aligncheck.record.record import STAGES
from aligncheck.record.stage import Stage

REMOVED = "removed"


def remove_stage(folder: Path, stage: Stage) -> Path | None:
    """Move a stage's folder aside and forget it; where it lies now, or None where there was none.

    Raises
    ------
    OutputError
        Then the stage is still in the record.
    """
    home = folder / STAGES / stage.name
    kept = None
    if home.is_dir():
        kept = folder / REMOVED / stage.name
        attempt = 0
        try:
            kept.parent.mkdir(exist_ok=True)
            while kept.exists():
                attempt += 1
                kept = kept.with_name(numbered(stage.name, attempt))
            home.rename(kept)
        except OSError as error:
            raise output_error(error, kept) from error
        sync_folder(kept.parent)
    with suppress(sqlite3.Error), open_index(folder, write=True) as link:
        link.execute("DELETE FROM stage WHERE folder = ?", (stage.name,))
    return kept
