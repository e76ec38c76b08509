"""Sizes, lengths and clock positions as people write and say them; everything inside is in mm and degrees."""

import re
from collections.abc import Iterable

from aligncheck.errors import InputError

#: mm in one unit. An inch is exactly 25.4 mm (international yard and pound agreement, 1 July 1959).
UNITS_MM: dict[str, float] = {
    "mm": 1.0, "millimetre": 1.0, "millimetres": 1.0, "millimeter": 1.0, "millimeters": 1.0,
    "cm": 10.0, "centimetre": 10.0, "centimetres": 10.0, "centimeter": 10.0, "centimeters": 10.0,
    "m": 1000.0, "metre": 1000.0, "metres": 1000.0, "meter": 1000.0, "meters": 1000.0,
    "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4, "”": 25.4, "''": 25.4,
}  # fmt: skip

#: One-sign fractions, spelled out.
SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}

#: Sides of a panel that can be meant. A dozen millimetres is a forgotten "in", and 12 m a forgotten "mm".
PANEL_RANGE_MM = (40.0, 3000.0)

#: Places that lie farther apart than this on every side are all around, degrees.
ALL_AROUND_DEG = 120.0

NUMBER = r"(?:(\d+)[ -]+)?(\d+)/(\d+)|(\d+(?:[.,]\d+)?|[.,]\d+)"
LENGTH = re.compile(rf"\s*([-+]?)(?:{NUMBER})\s*([a-z]+|\"|″|”|'')?\.?\s*", re.IGNORECASE)


def _length(text: str) -> tuple[float, float | None]:
    """A number and the mm in its unit (None where no unit stands); ValueError where it is neither."""
    for sign, words in SIGNS.items():
        text = text.replace(sign, " " + words)
    match = LENGTH.fullmatch(text)
    if not match:
        raise ValueError(text)
    minus, whole, top, bottom, decimal, unit = match.groups()
    number = float(decimal.replace(",", ".")) if decimal else int(whole or 0) + int(top) / int(bottom)
    if unit and unit.lower() not in UNITS_MM:
        raise ValueError(text)
    return -number if minus == "-" else number, UNITS_MM[unit.lower()] if unit else None


def parse_length(text: str | float, name: str = "length") -> float:
    """A single length in mm: ``6mm``, ``1/4 in``, ``11 3/4"``, ``2,5 cm``; a bare number is mm.

    Raises
    ------
    InputError
        ``bad_length``, with the `name` of what was asked for.
    """
    try:
        number, unit = _length(str(text))
    except (ValueError, ZeroDivisionError):
        raise InputError("bad_length", name=name, text=text) from None
    return round(number * (unit or 1.0), 9)


def parse_size(text: str) -> tuple[float, float]:
    """Width and height in mm, as the panel stands in the photo: ``12x12in``, ``30 x 40 cm``, ``11 3/4 x 11 3/4 in``.

    A unit after the second number counts for both. Without any, the numbers are mm.

    Raises
    ------
    InputError
        ``bad_size`` where it cannot be read, ``odd_size`` where no panel is that large or small.
    """
    parts = re.split(
        r"(?<=[\d\s\"″”'a-z½¼¾⅛⅜⅝⅞⅓⅔])\s*(?:[x×*]|by)\s*(?=[\d.,½¼¾⅛⅜⅝⅞⅓⅔])", text.strip(), flags=re.IGNORECASE
    )
    try:
        if len(parts) != 2:
            raise ValueError(text)
        (width, first), (height, second) = _length(parts[0]), _length(parts[1])
    except (ValueError, ZeroDivisionError):
        raise InputError("bad_size", text=text) from None
    unit = second or first or 1.0
    # Rounded so that 12 in is 304.8 mm and not a hair less.
    return check_size(round(width * (first or unit), 9), round(height * (second or unit), 9), text)


def check_size(width_mm: float, height_mm: float, text: str | None = None) -> tuple[float, float]:
    """The same two sides where both can be a panel's; else an InputError ``odd_size``."""
    least, most = PANEL_RANGE_MM
    if not (least <= width_mm <= most and least <= height_mm <= most):
        given = text or f"{width_mm:g} x {height_mm:g}"
        raise InputError("odd_size", text=given, width_mm=round(width_mm, 1), height_mm=round(height_mm, 1))
    return width_mm, height_mm


def clock(angle_deg: float) -> str:
    """The clock position nearest to a bearing, to the half hour: "4 o'clock", "half past 4".

    Parameters
    ----------
    angle_deg : float
        Clockwise from 12 o'clock.
    """
    # Half hours are 15 degrees; adding a half before flooring rounds halves always clockwise.
    half_hours = int((angle_deg % 360.0) / 15.0 + 0.5) % 24
    hour = half_hours // 2 or 12
    return f"half past {hour}" if half_hours % 2 else f"{hour} o'clock"


def clock_span(angles_deg: Iterable[float]) -> str:
    """Where places lie: "at 4 o'clock", "from 3 o'clock to 5 o'clock" (the shortest span of all), or "all around".

    Parameters
    ----------
    angles_deg : one or more float
        Clockwise from 12 o'clock.
    """
    ordered = sorted(float(a) % 360.0 for a in angles_deg)
    gaps = [after - before for before, after in zip(ordered, [*ordered[1:], ordered[0] + 360.0], strict=True)]
    k = gaps.index(max(gaps))
    start, stop = clock(ordered[(k + 1) % len(ordered)]), clock(ordered[k])
    if start == stop:
        return f"at {start}"
    return f"from {start} to {stop}" if gaps[k] > ALL_AROUND_DEG else "all around"
