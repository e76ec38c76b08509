"""The painter's own list of paints, and which of them each colour in the photo is."""

import math
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.files import text_of
from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.lines import line_meant

Floats = NDArray[np.float64]

#: Paints by name, each CIELAB (3,).
Paints = Mapping[str, Floats]

#: Light and camera change all paints alike: so much lighter or darker, and one channel against another, at most.
MOST_LIGHTER, MOST_TINTED = 2.2, 1.35
#: Farther from every paint than this (CIEDE2000), after that, is a paint that is not on the list.
NOT_LISTED = 16.0
ROUNDS = 6


def read_paints(path: str | Path) -> dict[str, Floats]:
    """Read a list of paints: a TOML file of lines ``name = "#rrggbb"`` or ``name = [L, a, b]``, bare or in [paints].

    Raises
    ------
    InputError
        ``paints_unreadable``, ``paints_syntax``, ``paints_value`` (with the name), ``paints_none``.
    """
    path = Path(path)
    text = text_of(path, "paints_unreadable")
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what = "a name stands twice" if "overwrite" in str(error) else "not understood"
        raise InputError("paints_syntax", file=path.name, line=line_meant(error, text), what=what) from None
    listed = content.get("paints", content)
    if not isinstance(listed, dict) or not listed:
        raise InputError("paints_none", file=path.name)
    return {str(name): _colour(name, value, path.name) for name, value in listed.items()}


def _colour(name: str, value: Any, file: str) -> Floats:
    """CIELAB (3,) of what stands behind a name."""
    if isinstance(value, str) and (match := re.fullmatch(r"\s*#?([0-9a-fA-F]{6})\s*", value)):
        code = np.array([int(match[1][k : k + 2], 16) for k in (0, 2, 4)], np.float32) / np.float32(255)
        return np.asarray(cv2.cvtColor(code.reshape(1, 1, 3), cv2.COLOR_RGB2Lab)[0, 0], float)
    numbers = isinstance(value, list) and len(value) == 3 and all(type(v) in (int, float) for v in value)
    if numbers and all(math.isfinite(v) for v in value) and 0 <= value[0] <= 100 and max(map(abs, value[1:])) <= 128:
        return np.array(value, float)
    raise InputError("paints_value", file=file, name=name)


def named(lab: Floats, count: Floats, paints: Paints) -> list[tuple[str, float] | None]:
    """For each colour (n, 3) of so many dots (n,) the paint and its CIEDE2000 difference; None where none is near.

    What light and camera do to all paints alike is fitted and taken out: a factor in each channel of linear light.
    """
    names, wanted = list(paints), np.array(list(paints.values())).reshape(-1, 3)
    if not len(lab) or not names:
        return [None] * len(lab)
    seen, true = _linear(lab), _linear(wanted)
    best, least = np.full((len(lab), len(names)), np.inf), np.inf
    # The light may be off by so much that a nearest paint is the wrong one: start from several.
    for start in (0.6, 0.8, 1.0, 1.25, 1.6):
        factor = np.full(3, start)
        for _ in range(ROUNDS):
            near = ciede2000(_lab(seen / factor)[:, None], wanted[None]).argmin(1)
            factor = _factor(seen, true[near], count)
        apart = ciede2000(_lab(seen / factor)[:, None], wanted[None])
        cost = float((np.minimum(apart.min(1), NOT_LISTED) * count).sum()) + abs(math.log(factor.mean()))
        if cost < least:
            best, least = apart, cost
    return [(names[k], float(d)) if d <= NOT_LISTED else None for k, d in zip(best.argmin(1), best.min(1), strict=True)]


def _factor(seen: Floats, true: Floats, count: Floats) -> Floats:
    """How much lighter each channel (3,) is seen than it is, within what light and camera may do."""
    weight = np.sqrt(count)[:, None]
    # Light channels tell it, dark ones drown in glare: least squares through zero weighs them so.
    whole = float((weight * seen * true).sum() / max((weight * true**2).sum(), 1e-9))
    single = (weight * seen * true).sum(0) / np.maximum((weight * true**2).sum(0), 1e-9)
    whole = float(np.clip(whole, 1 / MOST_LIGHTER, MOST_LIGHTER))
    # One or two paints cannot tell the light's tint from their own.
    share = min(len(np.unique(true, axis=0)) / 4, 1.0)
    tint = np.clip(single / max(whole, 1e-9), 1 / MOST_TINTED, MOST_TINTED) ** share
    return np.asarray(whole * tint, float)


def _linear(lab: Floats) -> Floats:
    """Linear sRGB light of CIELAB colours (n, 3)."""
    code = cv2.cvtColor(np.asarray(lab, np.float32).reshape(-1, 1, 3), cv2.COLOR_Lab2LRGB)
    return np.asarray(np.maximum(code.reshape(-1, 3), 1e-4), float)


def _lab(linear: Floats) -> Floats:
    """CIELAB of linear sRGB light (n, 3)."""
    code = cv2.cvtColor(np.asarray(linear, np.float32).reshape(-1, 1, 3), cv2.COLOR_LRGB2Lab)
    return np.asarray(code.reshape(-1, 3), float)
