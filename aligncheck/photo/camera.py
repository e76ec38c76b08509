"""What the EXIF block says of the camera, the moment and how the camera was held."""

import re
from datetime import datetime
from typing import Any

from aligncheck.photo.photo import Camera

# Tag numbers of EXIF 2.32 (CIPA DC-008).
MAKE, MODEL, ORIENTATION, CHANGED = 0x010F, 0x0110, 0x0112, 0x0132
EXIF_BLOCK = 0x8769
TAKEN, OFFSET_CHANGED, OFFSET_TAKEN, F35, LENS_MODEL = 0x9003, 0x9010, 0x9011, 0xA405, 0xA434

#: Focal lengths as on 35 mm film that lenses really have, fisheye to super telephoto; 0 stands for unknown.
F35_RANGE_MM = (5.0, 3000.0)


def _text(value: object) -> str | None:
    """A tag's text without padding; None where there is none."""
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    return (value.replace("\0", " ").strip() or None) if isinstance(value, str) else None


def read_camera(exif: Any) -> Camera:
    """The camera as Pillow's `exif` mapping names it."""
    block = exif.get_ifd(EXIF_BLOCK)
    try:
        f35 = float(block.get(F35, 0))
    except (TypeError, ValueError, ZeroDivisionError):
        f35 = 0.0
    known = F35_RANGE_MM[0] <= f35 <= F35_RANGE_MM[1]
    return Camera(_text(exif.get(MAKE)), _text(exif.get(MODEL)), _text(block.get(LENS_MODEL)), f35 if known else None)


def read_taken(exif: Any) -> str | None:
    """When the shutter was pressed, in ISO 8601, with the offset from UTC where the phone gave it."""
    block = exif.get_ifd(EXIF_BLOCK)
    for date, offset in ((block.get(TAKEN), block.get(OFFSET_TAKEN)), (exif.get(CHANGED), block.get(OFFSET_CHANGED))):
        try:
            moment = _moment(_text(date) or "")
        except ValueError:
            continue
        try:
            return datetime.fromisoformat(moment.isoformat() + (_text(offset) or "")).isoformat()
        except ValueError:
            return moment.isoformat()
    return None


def _moment(text: str) -> datetime:
    """Date and time as EXIF writes them; ValueError where they are none."""
    numbers = re.fullmatch(r"(\d{4}):(\d{1,2}):(\d{1,2}) (\d{1,2}):(\d{1,2}):(\d{1,2})", text)
    if numbers is None:
        raise ValueError(text)
    year, month, day, hour, minute, second = (int(n) for n in numbers.groups())
    return datetime(year, month, day, hour, minute, second)


def read_orientation(exif: Any) -> int | None:
    """The EXIF orientation, 1 to 8; None where it is missing or not one of these."""
    value = exif.get(ORIENTATION)
    return value if isinstance(value, int) and 1 <= value <= 8 else None
