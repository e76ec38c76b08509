"""The SQLite index: a copy of every stage's file in one place, kept in step with the folders and made anew from them.

The folders are the record; the index makes listing fast, tells what is missing, and is the lock under which stages are
put in place. No write-ahead log: it does not work on network drives, and synced folders would tear it apart.
"""

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

INDEX_FILE = "index.sqlite"
#: How long one computer waits for another that is putting a stage in place (which takes some milliseconds).
WAIT_S = 60.0
VERSION = 1

_TABLE = """
CREATE TABLE IF NOT EXISTS stage (
  folder TEXT PRIMARY KEY,        -- name of the stage's folder
  photo_sha256 TEXT NOT NULL,     -- of the original photo
  content BLOB NOT NULL,          -- stage.json, byte for byte
  mtime_ns INTEGER NOT NULL,      -- of stage.json when it was read, with its size: tells whether it changed since
  bytes INTEGER NOT NULL
) STRICT;
CREATE INDEX IF NOT EXISTS stage_photo ON stage (photo_sha256);
"""


@contextmanager
def open_index(folder: Path, write: bool = False) -> Iterator[sqlite3.Connection]:
    """The index of a record, inside one transaction; with `write`, one that nobody else can write beside.

    Raises
    ------
    sqlite3.Error
        Where the file is damaged, cannot be written, or the disk is full.
    """
    with closing(_connected((folder / INDEX_FILE).absolute().as_uri(), write)) as link:
        if write:
            link.execute("PRAGMA journal_mode = DELETE")
            link.execute("PRAGMA synchronous = FULL")
            link.execute("BEGIN IMMEDIATE")
            if link.execute("PRAGMA user_version").fetchone()[0] == 0:
                for statement in _TABLE.split(";\n"):
                    link.execute(statement)
                link.execute(f"PRAGMA user_version = {VERSION}")
        else:
            link.execute("BEGIN")
        try:
            yield link
            link.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):
                link.execute("ROLLBACK")
            raise


def _connected(uri: str, write: bool) -> sqlite3.Connection:
    """A connection; for reading, one that may undo what a killed run began, or else one that touches nothing."""
    modes = ("rwc",) if write else ("rw", "ro&immutable=1")
    for mode in modes:
        link = sqlite3.connect(f"{uri}?mode={mode}", uri=True, timeout=WAIT_S, isolation_level=None)
        try:
            link.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            return link
        except sqlite3.OperationalError:
            link.close()
            if mode == modes[-1]:
                raise
        except BaseException:
            link.close()
            raise
    raise AssertionError("never reached")


def is_damaged(folder: Path) -> bool:
    """Whether SQLite itself finds something wrong with the index; one that is busy or not there is not damaged."""
    if not (folder / INDEX_FILE).exists():
        return False
    try:
        with open_index(folder) as link:
            return [row[0] for row in link.execute("PRAGMA integrity_check")] != ["ok"]
    except sqlite3.OperationalError:
        return False
    except sqlite3.Error:
        return True


def rebuilt(folder: Path, rows: list[tuple[str, str, bytes, int, int]]) -> None:
    """Replace the index by a new one with these rows, in one step.

    Raises
    ------
    sqlite3.Error, OSError
    """
    beside = folder / f".index-{secrets.token_hex(4)}.part"
    try:
        with closing(sqlite3.connect(beside, isolation_level=None)) as link:
            link.execute("PRAGMA journal_mode = DELETE")
            link.execute("PRAGMA synchronous = FULL")
            link.execute("BEGIN")
            for statement in _TABLE.split(";\n"):
                link.execute(statement)
            link.executemany("INSERT INTO stage VALUES (?, ?, ?, ?, ?)", rows)
            link.execute(f"PRAGMA user_version = {VERSION}")
            link.execute("COMMIT")
        # A journal of the old file would be laid over the new one.
        for name in (INDEX_FILE + "-journal", INDEX_FILE + "-wal", INDEX_FILE + "-shm"):
            (folder / name).unlink(missing_ok=True)
        os.replace(beside, folder / INDEX_FILE)  # noqa: PTH105
    finally:
        beside.unlink(missing_ok=True)
