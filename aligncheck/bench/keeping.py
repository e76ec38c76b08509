"""Put a measured photo into a piece's record, in a thread of the pool."""

from pathlib import Path
from typing import Any

from aligncheck.bench.jobs import Job
from aligncheck.errors import AligncheckError


def store_shown(
    folder: Path | None, photo: Path, job: Job, shown: dict[str, Any], files: dict[str, bytes]
) -> dict[str, Any]:
    """Keep what a worker made ready; what became of it, for the page.

    The worker's words are taken one by one: it has opened a stranger's picture, so its message is no more to be
    trusted than the picture.
    """
    from aligncheck.record import open_record
    from aligncheck.record.store import Shown, store

    try:
        if folder is None:
            raise AligncheckError("no_record", folder="")
        before = {stage.name for stage in open_record(folder).stages}
        ready = Shown(
            photo=photo.read_bytes(),
            photo_ending=_one_of(shown.get("photo_ending"), (".jpg", ".png", ".tif", ".webp", ".heic", ".avif")),
            original_name=photo.name,
            files={name: data for name, data in files.items() if name in ENDINGS},
            taken=_text(shown.get("taken")),
            measured=bool(shown.get("measured")),
            kind=str(shown.get("kind")),
            headline=str(shown.get("headline")),
            second=str(shown.get("second")),
            title=str(shown.get("title")),
            words=tuple(str(line) for line in shown.get("words") or ()),
            stage=_text(shown.get("stage")),
            placed_like=shown.get("placed_like") if shown.get("placed_like") in before else None,
            placed=tuple(str(line) for line in shown.get("placed") or ()),
        )
        added = store(folder, ready, title=job.kept.get("title") or None)
        names = [stage.name for stage in open_record(folder).stages]
        number = names.index(added.stage.name) + 1 if added.stage.name in names else len(names)
        return {"state": "kept", "title": added.stage.title, "number": number, "new": added.new}
    except AligncheckError as error:
        return {"state": "failed", "code": error.code, "values": {k: str(v) for k, v in error.values.items()}}
    except (OSError, ValueError, TypeError):
        return {"state": "failed", "code": "unexpected", "values": {}}


#: Files that a record holds beside the photo.
ENDINGS = (".json", ".flat.jpg", ".overlay.jpg", ".flat-overlay.jpg", ".view.jpg")


def _one_of(value: Any, known: tuple[str, ...]) -> str:
    return value if value in known else known[0]


def _text(value: Any) -> str | None:
    return None if value is None else str(value)
