"""What is written after options of several commands, made into values; a slip becomes one plain sentence."""

import os
import re
from pathlib import Path

from aligncheck.errors import InputError
from aligncheck.units import parse_length

Corner = tuple[float, float]


def corners(texts: tuple[str, ...] | None) -> tuple[Corner, ...] | None:
    """Four corners ``x,y`` in pixels of the upright photo."""
    return tuple(_corner(t) for t in texts) if texts else None


def _corner(text: str) -> Corner:
    match = re.fullmatch(r"\s*\(?\s*(-?\d+(?:\.\d+)?)\s*[,;]\s*(-?\d+(?:\.\d+)?)\s*\)?\s*", text)
    if not match:
        raise InputError("bad_corner", text=text)
    return float(match[1]), float(match[2])


def length(text: str | None, option: str) -> float | None:
    """A length in mm above zero, or None where the option was not given."""
    if text is None:
        return None
    value = parse_length(text, option)
    if not value > 0:
        raise InputError("bad_length", name=option, text=text)
    return value


def height(text: str | None) -> tuple[float, float] | None:
    """Lowest and highest edge of a piece in mm: one length, or two with a dash between them."""
    if text is None:
        return None
    parts = re.split(r"\s*(?:-|–|\.\.)\s*", text.strip())
    if not 1 <= len(parts) <= 2 or "" in parts:
        raise InputError("bad_height", text=text)
    values = [parse_length(part, "--height") for part in parts]
    if not 0 <= values[0] <= values[-1]:
        raise InputError("bad_height", text=text)
    return values[0], values[-1]


def whole(text: str | None, code: str) -> int | None:
    """A whole number, not negative; `code` names the sentence of the option."""
    if text is None:
        return None
    if not re.fullmatch(r"\s*\d{1,6}\s*", text):
        raise InputError(code, text=text)
    return int(text)


def path(text: str | None) -> Path | None:
    """A path with ``~`` for the home folder, or None."""
    return Path(text).expanduser() if text else None


def file(text: str | None, name: str, otherwise: Path | None = None) -> Path:
    """The file to write: `text`; where that is a folder, `name` in it; where nothing was given, in `otherwise`."""
    given = path(text) or otherwise or Path()
    return given / name if text is None or given.is_dir() or text.endswith(("/", os.sep)) else given


def paths(texts: list[str] | None) -> list[Path]:
    """The paths among these, empty ones left out."""
    return [found for found in map(path, texts or []) if found is not None]
