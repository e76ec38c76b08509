"""Check a photo for the record and make ready all that will be kept of it."""

from pathlib import Path
from typing import Any

import cv2
import numpy as np

from aligncheck.checking import Check, check
from aligncheck.errors import AligncheckError, InputError, PhotoError, RecordError
from aligncheck.photo import Photo, read_photo
from aligncheck.photo.kind import readers_for
from aligncheck.placement import Arranged, find_placement
from aligncheck.record.record import Record
from aligncheck.record.results import read_result
from aligncheck.record.stage import Kept
from aligncheck.record.store import Shown
from aligncheck.result.write import as_jpeg, result_files
from aligncheck.words import findings, refused, summarise
from aligncheck.words.placing import placing_lines

#: Endings by what a file holds, whatever its name says.
ENDINGS = {"JPEG": ".jpg", "PNG": ".png", "TIFF": ".tif", "WEBP": ".webp", "HEIF": ".heic", "AVIF": ".avif"}
#: Longest side of the picture that stands for a photo without a flat view.
VIEW_PX = 1400
#: What a stage is called where the painter does not say.
TITLES = {"marked": "Marked", "arranged": "Centrepiece laid", "rows": "Rows traced", "painted": "Dots painted"}
NOT_MEASURED = "Not measured"


def measure(path: Path, record: Record, **options: Any) -> Shown:
    """Check one photo as a stage of a record's piece; where a centrepiece lies on it, see how it lay before.

    A photo that cannot be measured is kept all the same, with the reason; a file that is no picture is not.

    Raises
    ------
    PhotoError
        Where the file cannot be read as a picture.
    InputError
        Where an option does not fit.
    """
    photo = read_photo(path)
    data = path.read_bytes()
    if photo.sha256 != Kept.of(data).sha256:
        raise RecordError("photo_changing", file=path.name)
    piece = record.piece
    settings: dict[str, Any] = {"segments": piece.segments, "tolerance_mm": piece.tolerance_mm}
    settings |= {"layout": record.folder / piece.layout if piece.layout else None}
    settings |= {k: v for k, v in options.items() if v is not None}
    basis: dict[str, Any] = {"photo": data, "photo_ending": ENDINGS[readers_for(data)[0]], "original_name": path.name}
    try:
        done = check(photo, piece.panel, **settings)
    except InputError:
        raise
    except AligncheckError as error:
        if isinstance(error, PhotoError):
            error.values.setdefault("file", path.name)
        said = refused(str(error))
        return Shown(
            **basis,
            files={".view.jpg": as_jpeg(_small(photo))},
            taken=photo.taken,
            measured=False,
            kind=said.kind,
            headline=said.headline,
            second=said.second,
            title=NOT_MEASURED,
        )
    said = summarise(done)
    like, placed = _placed(done, record, settings)
    return Shown(
        **basis,
        placed_like=like,
        placed=placed,
        files=result_files(done),
        taken=photo.taken,
        measured=True,
        kind=said.kind,
        headline=said.headline,
        second=said.second,
        title=TITLES.get(done.stage, done.stage.capitalize()),
        words=tuple(findings(done)),
        stage=done.stage,
    )


def _placed(done: Check, record: Record, settings: dict[str, Any]) -> tuple[str | None, tuple[str, ...]]:
    """The last stage that shows the centrepiece, and how to put the piece back where it lay then, in words."""
    if done.centrepiece is None:
        return None, ()
    before = [s for s in record.stages if s.present and (read_result(record, s) or {}).get("centrepiece")]
    if not before:
        return None, ()
    height = settings.get("height_mm")
    try:
        # Corners by hand are those of the new photo.
        own = {k: v for k, v in settings.items() if k not in ("corners_px", "exact_corners")}
        earlier = check(record.path(before[-1], before[-1].photo), record.piece.panel, **own)
        if earlier.centrepiece is None:
            return None, ()
        moved = find_placement(
            Arranged(done.photo, done.drift, done.centrepiece),
            Arranged(earlier.photo, earlier.drift, earlier.centrepiece, before[-1].title),
            height if isinstance(height, float) else None,
        )
    except AligncheckError:
        # Another piece, or marks too few to compare by: the stage itself is as good as without.
        return None, ()
    return before[-1].name, tuple(placing_lines(moved))


def _small(photo: Photo) -> np.ndarray:
    """The upright photo, no side longer than `VIEW_PX`."""
    scale = min(1.0, VIEW_PX / max(photo.width_px, photo.height_px))
    size = (max(1, round(photo.width_px * scale)), max(1, round(photo.height_px * scale)))
    return np.asarray(cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
