"""A finished check as files: figures and pictures, all or none."""

import json
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.files import write_all
from aligncheck.overlay import draw_overlays
from aligncheck.result.as_result import Checked, as_result
from aligncheck.result.names import Target
from aligncheck.result.ours import is_ours, marked

#: Fine lines and lettering stay clean, and a 2400 px picture stays about a megabyte.
JPEG_QUALITY = 88


def write_results(check: Checked, target: Target) -> None:
    """Write the result file and the three pictures of one check.

    Raises
    ------
    OutputError
        Where a file of that name is not ours, or the system refuses; then nothing has changed.
    """
    pictures = draw_overlays(check.photo, check)
    contents = {
        target.result: as_json(as_result(check)),
        target.flat: as_jpeg(pictures.flat),
        target.overlay: as_jpeg(pictures.photo_overlay),
        target.flat_overlay: as_jpeg(pictures.flat_overlay),
    }
    write_all(contents, is_ours)


def as_json(result: dict[str, Any]) -> bytes:
    """The result as a readable file: one line a short list, so that points do not take four."""
    return (json.dumps(result, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def as_jpeg(rgb: NDArray[np.uint8]) -> bytes:
    """An RGB picture as a JPEG that is marked as ours and carries nothing else about photo or place."""
    bgr = cv2.cvtColor(rgb, cv2.COLOR_RGB2BGR)
    return marked(cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])[1].tobytes())
