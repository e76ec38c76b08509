"""A finished check as files: figures and pictures, all or none."""

import json
from functools import partial
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.files import write_all
from aligncheck.overlay import Overlays, draw_overlays, stage_layers
from aligncheck.result.as_result import Checked, as_result
from aligncheck.result.names import Target
from aligncheck.result.ours import is_ours, marked
from aligncheck.side_by_side import beside

#: Fine lines and lettering stay clean, and a 2400 px picture stays about a megabyte.
JPEG_QUALITY = 88


def write_results(check: Checked, target: Target, pictures: Overlays | None = None) -> None:
    """Write the result file and the three pictures of one check, other pictures than the usual ones where given.

    Raises
    ------
    OutputError
        Where a file of that name is not ours, or the system refuses; then nothing has changed.
    """
    files = result_files(check, pictures)
    write_all({target.folder / (target.stem + ending): data for ending, data in files.items()}, is_ours)


def result_files(check: Checked, pictures: Overlays | None = None) -> dict[str, bytes]:
    """The contents of a check's files by what their names end in; the fixed endings of `Target`."""
    pictures = pictures or draw_overlays(check.photo, check, more=stage_layers(check))
    on_photo = beside(partial(as_jpeg, pictures.photo_overlay))
    return {
        ".json": as_json(as_result(check)),
        ".flat.jpg": as_jpeg(pictures.flat),
        ".flat-overlay.jpg": as_jpeg(pictures.flat_overlay),
        ".overlay.jpg": on_photo(),
    }


def as_json(result: dict[str, Any]) -> bytes:
    """The result as a readable file: a line a spoke, a ring, a dot, or any other entry of what the result holds."""
    parts = [f" {_compact(key)}: {_entries(value)}" for key, value in result.items()]
    return ("{\n" + ",\n".join(parts) + "\n}\n").encode()


def _entries(value: Any) -> str:
    """One value of the result, its own entries on lines of their own where they hold more than numbers."""
    if isinstance(value, dict) and value:
        lines = [f"  {_compact(key)}: {_compact(part)}" for key, part in value.items()]
        return "{\n" + ",\n".join(lines) + "\n }"
    if isinstance(value, list) and any(isinstance(part, dict) for part in value):
        return "[\n" + ",\n".join(f"  {_compact(part)}" for part in value) + "\n ]"
    return _compact(value)


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def as_jpeg(rgb: NDArray[np.uint8]) -> bytes:
    """An RGB picture as a JPEG that is marked as ours and carries nothing else about photo or place."""
    bgr = cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR)
    return marked(cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes())
