"""What a worker does with one photo: check it, draw its pictures for the page, or make it ready for a record."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.bench.answer import answer
from aligncheck.checking import Check, check
from aligncheck.overlay import bare_flat, stage_layers
from aligncheck.overlay.colours import LIGHT
from aligncheck.overlay.page import flat_page_picture, photo_page_picture
from aligncheck.overlay.view import PHONE, Style
from aligncheck.photo import Photo, read_photo
from aligncheck.result.write import as_jpeg

#: Width of the pictures: a phone's 390 CSS pixels at three device pixels each.
PICTURE_PX = 1170
#: Longest side of the small upright photo: the corners must be seen in it to a pixel or two of the photo.
PREVIEW_PX = 2000

Tell = Callable[..., None]

LIGHT_PHONE = Style(LIGHT, growth=1.0)


def warm_up() -> None:
    """Load what the first photo would have to wait for."""
    import aligncheck.dots.find
    import aligncheck.repeat.find
    import aligncheck.rows.find  # noqa: F401

    cv2.resize(np.zeros((64, 64, 3), np.uint8), (32, 32), interpolation=cv2.INTER_AREA)


def measure(path: Path, task: dict[str, Any], tell: Tell) -> None:
    """Check a photo; tell preview, panel, marks, answer and flat view, each as soon as it is there."""
    cv2.setNumThreads(int(task.get("threads", 1)))
    photo = read_photo(path)
    size = {"width_px": photo.width_px, "height_px": photo.height_px, "taken": photo.taken}
    tell("photo", size, {"preview": as_jpeg(_small(photo))})

    def on_stage(name: str, value: Any) -> None:
        corners = value.corners_px.tolist() if name == "panel" else None
        tell(name, {"corners_px": corners} if corners else {})

    done = check(
        photo,
        task["panel"],
        segments=task.get("segments"),
        tolerance_mm=task.get("tolerance_mm"),
        corners_px=task.get("corners_px"),
        on_stage=on_stage,
    )
    picture = photo_page_picture(photo, done, PICTURE_PX, more=stage_layers(done))
    told = answer(done, picture)
    tell("answer", {"answer": told}, {"overlay": as_jpeg(picture.image)})
    tell("flat", {}, _flat_pictures(photo, done))


def keep(path: Path, task: dict[str, Any], tell: Tell) -> None:
    """Check a photo as a stage of a piece and hand over all that the record shall hold."""
    from aligncheck.record.measure import measure as measure_for_record
    from aligncheck.record.record import open_record

    cv2.setNumThreads(int(task.get("threads", 1)))
    shown = measure_for_record(path, open_record(Path(task["folder"])), corners_px=task.get("corners_px"))
    words = {
        "photo_ending": shown.photo_ending,
        "taken": shown.taken,
        "measured": shown.measured,
        "kind": shown.kind,
        "headline": shown.headline,
        "second": shown.second,
        "title": shown.title,
        "words": list(shown.words),
        "stage": shown.stage,
        "placed_like": shown.placed_like,
        "placed": list(shown.placed),
    }
    # The photo itself is on the page's side already.
    tell("shown", {"shown": words}, dict(shown.files))


def _flat_pictures(photo: Photo, done: Check) -> dict[str, bytes]:
    """The findings on the flat view, for a dark page and for a light one."""
    flat = bare_flat(photo, done.drift.marks.panel, PICTURE_PX)
    more = stage_layers(done)
    styles = {"flat-dark": PHONE, "flat-light": LIGHT_PHONE}
    return {name: as_jpeg(flat_page_picture(flat, done, PICTURE_PX, s, more).image) for name, s in styles.items()}


def _small(photo: Photo) -> NDArray[np.uint8]:
    """The upright photo, no side longer than `PREVIEW_PX`."""
    scale = min(1.0, PREVIEW_PX / max(photo.width_px, photo.height_px))
    size = (max(1, round(photo.width_px * scale)), max(1, round(photo.height_px * scale)))
    return np.asarray(cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
