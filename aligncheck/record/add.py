"""Add a photo to a record: check it, then keep it."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from aligncheck.errors import InputError, PhotoError
from aligncheck.record.record import Record, open_record
from aligncheck.record.stage import Kept, Stage
from aligncheck.record.store import Added, Shown, store, stored

Measure = Callable[..., Shown]


def add_photo(
    folder: Path,
    photo: Path,
    *,
    title: str | None = None,
    note: str = "",
    taken: str | None = None,
    measure: Measure | None = None,
    **options: Any,
) -> Added:
    """Check `photo` as `aligncheck.check` does and keep it as a stage of the record in `folder`.

    Parameters
    ----------
    title, note : str, optional
        In the painter's words.
    taken : str, optional
        ISO 8601 date or moment, where the photo does not know it.
    measure : callable, optional
        Stands in for the check, for tests.
    options
        As `aligncheck.check` takes them; what the piece says is used where they are not given.

    Raises
    ------
    AligncheckError
        RecordError, PhotoError where it is no picture, InputError, OutputError; then nothing was added.
    """
    record = open_record(folder)
    moment = _moment(taken)
    # Its package loads much that listing a record does without.
    from aligncheck.result.ours import is_our_picture

    if is_our_picture(photo):
        raise PhotoError("own_picture", file=photo.name)
    already = _stored_bytes(record, photo)
    if already:
        return Added(already, new=False)
    shown = (measure or _checked)(photo, record, **options)
    return store(folder, shown, title=title, note=note, taken=moment)


def _checked(photo: Path, record: Record, **options: Any) -> Shown:
    """The check, loaded only when there is something to check."""
    from aligncheck.record.measure import measure

    return measure(photo, record, **options)


def _stored_bytes(record: Record, photo: Path) -> Stage | None:
    """The stage that holds this very file; the check will say what is wrong with a file that cannot be read."""
    try:
        return stored(record, Kept.of(photo.read_bytes()).sha256)
    except OSError:
        return None


def _moment(text: str | None) -> str | None:
    """An ISO 8601 date or moment, checked."""
    if text is None:
        return None
    try:
        return datetime.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError("bad_date", text=text) from None
