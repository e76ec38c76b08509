"""The colour difference CIEDE2000 (Sharma, Wu & Dalal 2005), with all weights 1."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SATURATED = 25.0**7


def ciede2000(one: ArrayLike, other: ArrayLike) -> Floats:
    """Differences (...) of CIELAB colours (..., 3)."""
    first, second = np.broadcast_arrays(np.asarray(one, float), np.asarray(other, float))
    (l1, a1, b1), (l2, a2, b2) = (np.moveaxis(lab, -1, 0) for lab in (first, second))
    # Greys bend the hues near them: red and green are stretched there.
    grey = 1.5 - 0.5 * _saturation((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2)
    a1, a2 = a1 * grey, a2 * grey
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.arctan2(b1, a1) % (2 * np.pi), np.arctan2(b2, a2) % (2 * np.pi)
    coloured = c1 * c2 > 0
    turn = np.where(coloured, (h2 - h1 + np.pi) % (2 * np.pi) - np.pi, 0.0)
    # Half a turn either way is the same hue difference; the published formula takes it as positive.
    hue = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2)
    mean_hue = np.where(coloured, _mean_hue(h1, h2), h1 + h2)
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    by_hue = (
        1
        - 0.17 * np.cos(mean_hue - np.radians(30))
        + 0.24 * np.cos(2 * mean_hue)
        + 0.32 * np.cos(3 * mean_hue + np.radians(6))
        - 0.20 * np.cos(4 * mean_hue - np.radians(63))
    )
    square = (light - 50) ** 2
    dl = (l2 - l1) / (1 + 0.015 * square / np.sqrt(20 + square))
    dc = (c2 - c1) / (1 + 0.045 * chroma)
    dh = hue / (1 + 0.015 * chroma * by_hue)
    blue = np.exp(-(((np.degrees(mean_hue) - 275) / 25) ** 2))
    mixed = -np.sin(np.radians(60) * blue) * 2 * _saturation(chroma)
    return np.sqrt(np.maximum(dl**2 + dc**2 + dh**2 + mixed * dc * dh, 0.0))


def _saturation(chroma: Floats) -> Floats:
    """How far (...) a chroma is from grey, 0 to 1."""
    seventh = chroma**7
    return np.asarray(np.sqrt(seventh / (seventh + SATURATED)), float)


def _mean_hue(h1: Floats, h2: Floats) -> Floats:
    """The hue halfway, on the shorter side."""
    middle = (h1 + h2) / 2
    across = np.abs(h1 - h2) > np.pi
    return np.asarray(np.where(across, np.where(middle < np.pi, middle + np.pi, middle - np.pi), middle), float)
