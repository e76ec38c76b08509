"""Put one stage into a record, in one step: whole folders appear, or nothing does."""

import sqlite3
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import count
from pathlib import Path
from shutil import rmtree

from aligncheck.errors import RecordError
from aligncheck.files import output_error
from aligncheck.notes import Note
from aligncheck.record.disk import folder_beside, left_behind, put_in_place, sync_folder
from aligncheck.record.index import open_index
from aligncheck.record.names import dated_name, numbered
from aligncheck.record.record import STAGES, Record, mended_index, open_record, stage_folders
from aligncheck.record.stage import STAGE_FILE, Kept, Stage, read_stage, stage_json


@dataclass(frozen=True)
class Shown:
    """What a photo showed, ready to be kept.

    Attributes
    ----------
    photo : bytes
        The original file.
    photo_ending : str
        Such as ``.jpg``, by content.
    files : mapping of str to bytes
        The other files by ending: ``.json``, ``.flat.jpg``, ``.overlay.jpg``, ``.flat-overlay.jpg``; of a photo that
        could not be measured ``.view.jpg`` alone.
    """

    photo: bytes
    photo_ending: str
    original_name: str
    files: Mapping[str, bytes]
    taken: str | None
    measured: bool
    kind: str
    headline: str
    second: str
    title: str
    words: tuple[str, ...] = ()
    stage: str | None = None
    placed_like: str | None = None
    placed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Added:
    """The stage that holds the photo; `new` is false where it was there already."""

    stage: Stage
    new: bool
    notes: tuple[Note, ...] = field(default=())


def stored(record: Record, sha256: str) -> Stage | None:
    """The stage that holds a photo with these bytes."""
    return next((s for s in record.stages if s.present and s.photo_sha256 == sha256), None)


def store(
    folder: Path,
    shown: Shown,
    *,
    title: str | None = None,
    note: str = "",
    taken: str | None = None,
    now: datetime | None = None,
) -> Added:
    """Keep what a photo showed.

    The stage's folder is written beside and renamed under the index's lock, so that two runs that add the same photo
    make one stage of it. It is kept from the moment of the rename; the index only follows.

    Raises
    ------
    RecordError
        Where the folder is no record.
    OutputError
        ``disk_full`` and the like; then nothing was added.
    """
    record = open_record(folder)
    sha256 = Kept.of(shown.photo).sha256
    already = stored(record, sha256)
    if already:
        return Added(already, new=False)
    added, notes = _clock(record, now or datetime.now().astimezone())
    stage = _stage(shown, title, note, taken or shown.taken, added)
    parent = folder / STAGES
    _clear(parent)
    for attempt in count():
        named = _renamed(stage, numbered(stage.name, attempt))
        beside = folder_beside(parent, _contents(named, shown))
        try:
            with _locked(folder) as link:
                # Another run may have added it since we looked.
                already = _in_index(link, sha256, folder) if link else stored(open_record(folder), sha256)
                if already:
                    rmtree(beside)
                    return Added(already, new=False)
                placed = put_in_place(beside, parent / named.name)
                if placed and link:
                    with suppress(sqlite3.Error, OSError):
                        _enter(link, named, parent)
        except OSError as error:
            raise output_error(error, parent / named.photo) from error
        finally:
            rmtree(beside, ignore_errors=True)
        if placed:
            return Added(named, new=True, notes=notes)
    raise AssertionError("never reached")


def change(folder: Path, stage: Stage) -> None:
    """Write a stage's file anew, for a title or a note that changed.

    Raises
    ------
    OutputError, RecordError
    """
    from aligncheck.record.disk import replace_file

    if not stage.present:
        raise RecordError("stage_gone", stage=stage.name)
    replace_file(folder / STAGES / stage.name / STAGE_FILE, stage_json(stage))
    open_record(folder)


def _stage(shown: Shown, title: str | None, note: str, taken: str | None, added: str) -> Stage:
    """The stage under the name it would like to have."""
    words = (title or "").strip() or shown.title
    moment = taken or added
    name = dated_name(moment, words)
    return Stage(
        name=name,
        title=words,
        note=note.strip(),
        moment=moment,
        taken=taken,
        added=added,
        measured=shown.measured,
        kind=shown.kind,
        headline=shown.headline,
        second=shown.second,
        photo=shown.photo_ending,
        original_name=shown.original_name,
        files={"": Kept.of(shown.photo), **{ending: Kept.of(data) for ending, data in shown.files.items()}},
        words=shown.words,
        stage=shown.stage,
        placed_like=shown.placed_like,
        placed=shown.placed,
    )


def _renamed(stage: Stage, name: str) -> Stage:
    """The stage with all its files called by `name`."""
    files = {name + (ending or stage.photo): kept for ending, kept in stage.files.items()}
    return replace(stage, name=name, photo=name + stage.photo, files=files)


def _contents(stage: Stage, shown: Shown) -> dict[str, bytes]:
    return {
        stage.photo: shown.photo,
        **{stage.name + ending: data for ending, data in shown.files.items()},
        STAGE_FILE: stage_json(stage),
    }


def _clock(record: Record, now: datetime) -> tuple[str, tuple[Note, ...]]:
    """When this is added: now, but never before what was added last."""
    text = now.isoformat(timespec="microseconds")
    last = max((s.added for s in record.stages), default="", key=_instant)
    if last and _instant(last) > _instant(text):
        return last, (Note("clock_behind", {"last": last[:16].replace("T", " ")}),)
    return text, ()


def _instant(text: str) -> float:
    return datetime.fromisoformat(text).timestamp() if text else 0.0


@contextmanager
def _locked(folder: Path) -> Iterator[sqlite3.Connection | None]:
    """The index, for us alone; None where there can be none (a full disk): then the folders have to do."""
    try:
        mended_index(folder)
        opened = open_index(folder, write=True)
        link = opened.__enter__()
    except (sqlite3.Error, OSError):
        yield None
        return
    try:
        yield link
    except BaseException as error:
        opened.__exit__(type(error), error, error.__traceback__)
        raise
    with suppress(sqlite3.Error):
        opened.__exit__(None, None, None)


def _in_index(link: sqlite3.Connection, sha256: str, folder: Path) -> Stage | None:
    """The stage with this photo by the index, or by a folder that a killed run put in place but did not enter."""
    there = stage_folders(folder)
    rows = link.execute("SELECT folder, photo_sha256, content FROM stage").fetchall()
    for name in there.keys() - {row[0] for row in rows}:
        with suppress(OSError, RecordError):
            content = (folder / STAGES / name / STAGE_FILE).read_bytes()
            rows.append((name, read_stage(content, name).photo_sha256, content))
    same = [(name, content) for name, photo, content in rows if photo == sha256 and name in there]
    return read_stage(same[0][1], same[0][0]) if same else None


def _enter(link: sqlite3.Connection, stage: Stage, parent: Path) -> None:
    """Put a stage into the index."""
    path = parent / stage.name / STAGE_FILE
    stat = path.stat()
    row = (stage.name, stage.photo_sha256, path.read_bytes(), stat.st_mtime_ns, stat.st_size)
    link.execute("INSERT OR REPLACE INTO stage VALUES (?, ?, ?, ?, ?)", row)


def _clear(parent: Path) -> None:
    """Make the stages' folder, and take away what killed runs left in it: they never said it was kept."""
    try:
        parent.mkdir(exist_ok=True)
    except OSError as error:
        raise output_error(error, parent / STAGE_FILE) from error
    for folder in left_behind(parent, time.time()):
        rmtree(folder, ignore_errors=True)
    sync_folder(parent.parent)
