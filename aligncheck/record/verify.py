"""Look a record through, file by file: name what is damaged, missing or does not belong; mend what can be mended."""

import hashlib
import sqlite3
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree
from typing import Literal

from aligncheck.errors import RecordError
from aligncheck.record.disk import left_behind, replace_file
from aligncheck.record.index import INDEX_FILE, is_damaged, open_index, rebuilt
from aligncheck.record.names import is_conflict_copy
from aligncheck.record.piece import PIECE_FILE, read_piece
from aligncheck.record.record import STAGES, Row, mended_index, stage_folders
from aligncheck.record.stage import STAGE_FILE, Stage, is_sealed, read_stage

Kind = Literal[
    "damaged", "missing", "gone", "unreadable", "changed", "conflict", "unknown", "twice", "left_behind", "index"
]
#: What is worth a line, but no damage.
HARMLESS = {"conflict", "unknown", "left_behind", "twice", "changed"}

WORDS: dict[str, str] = {
    "damaged": "{path}: damaged, its bytes are not those that were kept. Bring it back from a copy.",
    "missing": "{path}: missing. Bring it back from a copy.",
    "gone": "{path}: the whole stage is missing. Bring it back from a copy, or: aligncheck record remove.",
    "unreadable": "{path}: cannot be read as a stage. The photo beside it is not touched.",
    "changed": "{path}: was changed by hand.",
    "conflict": "{path}: a second version, put there by a sync program. Compare the two and keep one.",
    "unknown": "{path}: does not belong to the record. It is left alone.",
    "twice": "{path}: holds the same photo as {other}. Remove one of the two.",
    "left_behind": "{path}: left by a run that was stopped; nothing that was kept. The next add clears it away.",
    "index": "{path}: damaged. The stages are safe; --repair makes it anew.",
}


@dataclass(frozen=True)
class Finding:
    """One thing that verify found; `path` is from the record's folder."""

    kind: Kind
    path: str
    other: str = ""
    mended: bool = False

    @property
    def harmless(self) -> bool:
        """Whether nothing is lost or damaged by it."""
        return self.mended or self.kind in HARMLESS

    @property
    def text(self) -> str:
        """One plain sentence."""
        words = WORDS[self.kind].format(path=self.path, other=self.other)
        return words.split(". ")[0] + ". Mended." if self.mended else words


def verify(folder: Path, repair: bool = False) -> tuple[int, list[Finding]]:
    """Compare every file with what was kept; with `repair`, mend stage files and the index. Nothing is deleted.

    Returns
    -------
    (int, list of Finding)
        How many stages are whole, and what was found.

    Raises
    ------
    RecordError
        Where the folder is no record.
    """
    read_piece(folder)
    known, index_findings = _index(folder, repair)
    found: list[Finding] = list(index_findings)
    whole, photos = 0, dict[str, str]()
    for name in sorted(stage_folders(folder)):
        stage, here = _stage(folder, name, known.get(name), repair)
        found += here
        if stage is None:
            continue
        here = list(_files(folder, stage, name))
        found += here
        whole += all(f.harmless for f in here)
        if stage.photo_sha256 in photos:
            found.append(Finding("twice", f"{STAGES}/{name}", photos[stage.photo_sha256]))
        photos.setdefault(stage.photo_sha256, f"{STAGES}/{name}")
    found += [Finding("gone", f"{STAGES}/{n}") for n in sorted(known.keys() - stage_folders(folder).keys())]
    found += _around(folder, repair)
    if repair:
        _rebuild(folder, known)
    return whole, found


def _index(folder: Path, repair: bool) -> tuple[dict[str, bytes], list[Finding]]:
    """Stage files as the index remembers them, and whether it is damaged."""
    damaged = is_damaged(folder)
    known: dict[str, bytes] = {}
    with suppress(sqlite3.Error), open_index(folder) as link:
        known = dict(link.execute("SELECT folder, content FROM stage"))
    if damaged and repair:
        mended_index(folder)
    return known, [Finding("index", INDEX_FILE, mended=repair)] if damaged else []


def _stage(folder: Path, name: str, remembered: bytes | None, repair: bool) -> tuple[Stage | None, list[Finding]]:
    """One folder's stage and what is wrong with its stage file."""
    path, shown = folder / STAGES / name / STAGE_FILE, f"{STAGES}/{name}/{STAGE_FILE}"
    content = None
    with suppress(OSError):
        content = path.read_bytes()
    if content is not None:
        with suppress(RecordError):
            stage = read_stage(content, name)
            return stage, [] if is_sealed(content) else [Finding("changed", shown)]
    kind: Kind = "missing" if content is None else "unreadable"
    if remembered is None:
        return None, [Finding(kind, shown)]
    if repair:
        if content is not None:
            # Whatever it is, it is not ours to throw away.
            replace_file(path.with_name(f"damaged-{STAGE_FILE}"), content)
        replace_file(path, remembered)
    with suppress(RecordError):
        return read_stage(remembered, name), [Finding(kind, shown, mended=repair)]
    return None, [Finding(kind, shown)]


def _files(folder: Path, stage: Stage, name: str) -> Iterator[Finding]:
    """Files of one stage that are not as they were kept, and files that are not its own."""
    home = folder / STAGES / name
    for file, kept in stage.files.items():
        shown = f"{STAGES}/{name}/{file}"
        try:
            with (home / file).open("rb") as stream:
                if hashlib.file_digest(stream, "sha256").hexdigest() != kept.sha256:
                    yield Finding("damaged", shown)
        except FileNotFoundError:
            yield Finding("missing", shown)
        except OSError:
            yield Finding("damaged", shown)
    with suppress(OSError):
        for path in sorted(home.iterdir()):
            if path.name not in stage.files and path.name != STAGE_FILE and not path.name.startswith("."):
                yield Finding("conflict" if is_conflict_copy(path.name) else "unknown", f"{STAGES}/{name}/{path.name}")


def _around(folder: Path, repair: bool) -> Iterator[Finding]:
    """Left-overs of stopped runs, and second versions of the record's own files."""
    for path in left_behind(folder / STAGES, time.time()):
        if repair:
            rmtree(path, ignore_errors=True)
        yield Finding("left_behind", f"{STAGES}/{path.name}", mended=repair)
    for path in sorted(folder.iterdir()):
        ours = path.stem.startswith((Path(INDEX_FILE).stem, Path(PIECE_FILE).stem))
        if ours and is_conflict_copy(path.name):
            yield Finding("conflict", path.name)


def _rebuild(folder: Path, known: dict[str, bytes]) -> None:
    """A new index from the folders; what it alone remembers of folders that are gone goes with it."""
    rows: list[Row] = []
    there = stage_folders(folder)
    for name, stamp in there.items():
        with suppress(OSError, RecordError):
            content = (folder / STAGES / name / STAGE_FILE).read_bytes()
            rows.append((name, read_stage(content, name).photo_sha256, content, *stamp))
    for name in known.keys() - there.keys():
        with suppress(RecordError):
            rows.append((name, read_stage(known[name], name).photo_sha256, known[name], -1, -1))
    with suppress(sqlite3.Error, OSError):
        with open_index(folder, write=True) as link:
            link.execute("DELETE FROM stage")
            link.executemany("INSERT INTO stage VALUES (?, ?, ?, ?, ?)", rows)
        return
    rebuilt(folder, rows)
