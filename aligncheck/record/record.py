"""The Record: one folder for one piece. Opening it brings the index into step with the folders."""

import os
import secrets
import sqlite3
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from aligncheck.errors import RecordError
from aligncheck.files import output_error, write_all
from aligncheck.record.index import INDEX_FILE, is_damaged, open_index, rebuilt
from aligncheck.record.piece import PIECE_FILE, Piece, piece_toml, read_piece
from aligncheck.record.stage import STAGE_FILE, Stage, read_stage

STAGES = "stages"
READ_ME = "READ ME.txt"
_READ_ME = """\
This folder is the record of one piece, kept by aligncheck. It can be read without it:

{piece}      name, size, colours, tools: may be changed with a text editor
{stages}/         one folder a stage, named by its date:
    NAME.jpg (or .heic, .png ...)   the photo as it was given, byte for byte
    NAME.flat.jpg                   the panel seen straight from above
    NAME.overlay.jpg                what was found, drawn on the photo
    NAME.flat-overlay.jpg           the same on the flat view
    NAME.json                       every figure
    {stage}                      title, notes, and the SHA-256 of each file
{index}    an index for speed; it can be made anew: aligncheck record verify FOLDER --repair

The photos hold whatever the camera wrote into them, perhaps the place where they were taken. What
"aligncheck record export" writes holds nothing of that but the date: give that away, not this folder.
"""

Row = tuple[str, str, bytes, int, int]


@dataclass(frozen=True)
class Record:
    """A record as it stood when it was opened.

    Attributes
    ----------
    folder : Path
    piece : Piece
    stages : tuple of Stage
        In the order of their moments; those whose folder is gone are among them, with `present` false.
    damaged : tuple of str
        Folders whose stage file cannot be read; `verify` says more.
    """

    folder: Path
    piece: Piece
    stages: tuple[Stage, ...]
    damaged: tuple[str, ...] = ()

    def path(self, stage: Stage, name: str) -> Path:
        """Where a stage's file lies."""
        return self.folder / STAGES / stage.name / name


def new_record(
    folder: Path,
    panel: str,
    *,
    name: str | None = None,
    about: str = "",
    segments: int | None = None,
    tolerance_mm: float | None = None,
    layout: Path | None = None,
) -> Record:
    """Begin a record in a folder that does not exist or is empty.

    Raises
    ------
    RecordError
        ``record_exists``, ``folder_not_empty``, or ``record_in_file``.
    OutputError
        Where the system refuses; then nothing was made.
    """
    title = (name or folder.resolve().name).strip() or folder.resolve().name
    piece = Piece(title, panel.strip(), date.today().isoformat(), segments, tolerance_mm, about=about)
    _ = piece.size_mm
    standing = next(f for f in (folder, *folder.absolute().parents) if os.path.lexists(f))
    if not standing.is_dir():
        raise RecordError("record_in_file", folder=str(folder))
    try:
        if (folder / PIECE_FILE).exists():
            raise RecordError("record_exists", folder=str(folder))
        if folder.is_dir() and any(folder.iterdir()):
            raise RecordError("folder_not_empty", folder=str(folder))
    except OSError as error:
        raise output_error(error, folder / PIECE_FILE) from error
    contents: dict[Path, bytes] = {}
    if layout is not None:
        from aligncheck.layout import read_layout

        read_layout(layout)
        piece = replace(piece, layout="layout.toml")
        contents[folder / "layout.toml"] = layout.read_bytes()
    words = _READ_ME.format(piece=PIECE_FILE, stages=STAGES, stage=STAGE_FILE, index=INDEX_FILE)
    contents[folder / READ_ME] = words.encode()
    # Last, because it is what makes the folder a record.
    contents[folder / PIECE_FILE] = piece_toml(piece)
    write_all(contents, lambda _: False)
    return open_record(folder)


def open_record(folder: Path) -> Record:
    """Read a record; what the index does not know yet, or no longer, is told from the folders.

    Raises
    ------
    RecordError
        ``no_record``, ``record_newer``, ``record_unreadable``, ``piece_damaged``.
    """
    piece = read_piece(folder)
    known = _indexed(folder)
    rows, damaged = _rows(folder, known or {})
    if known is None or {r[0]: r[3:] for r in rows} != {k: v[3:] for k, v in known.items()}:
        # A full disk or a stick that cannot be written is no reason not to read; nor is a damaged index, which is left
        # for `add` or `verify --repair` to put aside.
        with suppress(sqlite3.Error, OSError):
            _bring_into_step(folder, rows)
    stages, unread = _stages(folder, rows)
    return Record(folder, piece, tuple(stages), tuple(sorted({*damaged, *unread})))


def find_stage(record: Record, which: str) -> Stage:
    """The stage with this number (from 1, in their order), name, or title.

    Raises
    ------
    RecordError
        ``no_such_stage``, or ``no_stages``.
    """
    if not record.stages:
        raise RecordError("no_stages", folder=str(record.folder))
    if which.isdigit() and 1 <= int(which) <= len(record.stages):
        return record.stages[int(which) - 1]
    found = [s for s in record.stages if which in (s.name, s.title)]
    if len(found) != 1:
        raise RecordError("no_such_stage", text=which, number=len(record.stages), folder=str(record.folder))
    return found[0]


def stage_folders(folder: Path) -> dict[str, tuple[int, int]]:
    """Names of the stages' folders with time and size of their stage file (-1 where there is none)."""
    found = {}
    with suppress(FileNotFoundError), os.scandir(folder / STAGES) as entries:
        for entry in entries:
            if entry.name.startswith(".") or not entry.is_dir():
                continue
            try:
                stat = os.stat(os.path.join(entry.path, STAGE_FILE))  # noqa: PTH116, PTH118 - 500 of them count
                found[entry.name] = (stat.st_mtime_ns, stat.st_size)
            except OSError:
                found[entry.name] = (-1, -1)
    return found


def _indexed(folder: Path) -> dict[str, Row] | None:
    """The index's rows by folder; None where it is missing or cannot be read."""
    try:
        with open_index(folder) as link:
            return {row[0]: tuple(row) for row in link.execute("SELECT * FROM stage")}
    except sqlite3.Error:
        return None


def _rows(folder: Path, known: dict[str, Row]) -> tuple[list[Row], list[str]]:
    """What the index should hold, and folders whose stage file is missing or cannot be read."""
    rows, damaged = dict(known), []
    for name, stamp in stage_folders(folder).items():
        if name in known and known[name][3:] == stamp:
            continue
        try:
            content = (folder / STAGES / name / STAGE_FILE).read_bytes()
            rows[name] = (name, read_stage(content, name).photo_sha256, content, *stamp)
        except (OSError, RecordError):
            # The index keeps what it knew: it may be the only copy left.
            damaged.append(name)
    return list(rows.values()), damaged


def mended_index(folder: Path) -> Path | None:
    """Put a damaged index aside and make a new one; where the old one lies now, None where nothing was wrong.

    Raises
    ------
    sqlite3.Error, OSError
    """
    path = folder / INDEX_FILE
    if not is_damaged(folder):
        return None
    aside = path.with_name(f"index-damaged-{time.strftime('%Y-%m-%d-%H%M%S')}-{secrets.token_hex(2)}.sqlite")
    # A copy, so that at no moment there is no index: another run may be waiting for it.
    aside.write_bytes(path.read_bytes())
    rebuilt(folder, _rows(folder, _indexed(folder) or {})[0])
    return aside


def _bring_into_step(folder: Path, rows: Sequence[Row]) -> None:
    """Write `rows` into the index."""
    with open_index(folder, write=True) as link:
        link.executemany("INSERT OR REPLACE INTO stage VALUES (?, ?, ?, ?, ?)", rows)


def _stages(folder: Path, rows: Sequence[Row]) -> tuple[list[Stage], list[str]]:
    """The stages in their order, and folders that cannot be understood."""
    there = stage_folders(folder)
    stages, unread = [], []
    for name, _, content, *_ in rows:
        try:
            stages.append(replace(read_stage(content, name), name=name, present=name in there))
        except RecordError:
            unread.append(name)
    return sorted(stages, key=lambda s: (s.moment[:19], s.added, s.name)), unread
