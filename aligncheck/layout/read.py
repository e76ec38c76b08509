"""Read a layout from a small TOML file; every mistake names its line and key."""

import itertools
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from aligncheck.errors import InputError
from aligncheck.files import text_of
from aligncheck.layout.layout import Layout
from aligncheck.lines import line_meant
from aligncheck.units import parse_length

#: Spokes that a panel can carry: a check of slips, not of taste.
SEGMENTS_RANGE = (2, 120)


def _segments(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not SEGMENTS_RANGE[0] <= value <= SEGMENTS_RANGE[1]:
        raise ValueError("a whole number from 2 to 120")
    return value


def _rotation(value: Any) -> float | None:
    if value == "free":
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError('degrees clockwise from 12 o\'clock, or "free"')
    return float(value)


def _length(value: Any) -> float:
    try:
        length = parse_length(value) if isinstance(value, int | float | str) and not isinstance(value, bool) else -1.0
    except InputError:
        length = -1.0
    if not (length >= 0 and math.isfinite(length)):
        raise ValueError('a length such as 12.5 (mm) or "1/2 in"')
    return length


def _positive(value: Any) -> float:
    if (length := _length(value)) == 0:
        raise ValueError("a length above zero")
    return length


def _radii(value: Any) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError("a list of lengths from the inside out, such as [12.5, 25, 37.5]")
    radii = tuple(_positive(v) for v in value)
    if any(b <= a for a, b in itertools.pairwise(radii)):
        raise ValueError("radii from the inside out, each larger than the one before")
    return radii


def _centre(value: Any) -> str:
    if value not in ("mark", "panel"):
        raise ValueError('"mark" or "panel"')
    return str(value)


#: What a layout file may say, and what makes a value of it.
KEYS: dict[str, Callable[[Any], Any]] = {
    "segments": _segments,
    "rotation_deg": _rotation,
    "ring_radii_mm": _radii,
    "ring_pitch_mm": _positive,
    "centre": _centre,
    "edge_margin_mm": _length,
    "tolerance_mm": _positive,
}


def read_layout(path: str | Path) -> Layout:
    """Read a layout file.

    Raises
    ------
    InputError
        ``layout_unreadable``, ``layout_syntax`` (with the line), ``layout_key`` (with line, key and the nearest known
        one), ``layout_value`` (with line, key and what is wanted), ``layout_both`` (radii and pitch).
    """
    path = Path(path)
    text = text_of(path, "layout_unreadable")
    return parse_layout(text, path.name)


def parse_layout(text: str, name: str = "layout") -> Layout:
    """The layout that the TOML `text` describes; `name` is for messages."""
    # Most checks are given no layout file and never load its parser.
    import tomllib

    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(error, text, name) from None
    values: dict[str, Any] = {}
    for key, value in given.items():
        line = _line_of(key, text)
        if key not in KEYS:
            import difflib

            near = difflib.get_close_matches(key, KEYS, 1, 0.5)
            hint = f'Did you mean "{near[0]}"?' if near else f"Known are: {', '.join(KEYS)}."
            raise InputError("layout_key", file=name, line=line, key=key, hint=hint)
        try:
            values[key] = KEYS[key](value)
        except ValueError as wanted:
            raise InputError("layout_value", file=name, line=line, key=key, wanted=str(wanted)) from None
    if "ring_radii_mm" in values and "ring_pitch_mm" in values:
        raise InputError("layout_both", file=name, line=_line_of("ring_pitch_mm", text))
    return Layout(**values)


def _syntax_error(error: ValueError, text: str, name: str) -> InputError:
    """The parser's complaint with the line it means and what stands there."""
    lines = text.splitlines() or [""]
    line = line_meant(error, text)
    key = lines[min(line, len(lines)) - 1].split("=")[0].strip()[:40]
    return InputError("layout_syntax", file=name, line=line, key=key)


def _line_of(key: str, text: str) -> int:
    """The line, from 1, on which `key` is set; a table's heading counts."""
    pattern = re.compile(rf"""^\s*\[*\s*["']?{re.escape(key)}["']?\s*(=|\]|\.)""")
    return next((i for i, row in enumerate(text.splitlines(), 1) if pattern.match(row)), 1)
