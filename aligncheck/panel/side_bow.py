"""Sides that bow by themselves: what of a curved side is the panel's own and not the lens's."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: From the middle to the ends of a side the second Legendre term changes by so much of its factor.
BOW_OF_TERM = 1.5


class Bow(NamedTuple):
    """How far sides bow, middle against ends, mm: standard deviations, of each by itself and of all four alike, and by
    how much they are usually pulled in."""

    own_mm: float
    common_mm: float
    inward_mm: float = 0.0


#: Boards bow by hundredths; the cloth of a canvas pulls all its bars in by a tenth and more.
STRAIGHT, PULLED = Bow(0.03, 0.02), Bow(0.1, 0.1, 0.1)
#: What a fit allows for: of a deep panel, that cloth pulls it or not; where the thickness is unknown, that one in five
#: is a canvas. Without allowing for it the lens would be sure to bend as the panel does.
DEEP, UNKNOWN = Bow(0.1, 0.14), Bow(0.06, 0.06)


def bow_design(pieces: list[int]) -> Floats:
    """How each side's own bow moves its pieces, evenly spaced along it: second Legendre terms (n, 4)."""
    design = np.zeros((sum(pieces), 4))
    start = 0
    for k, n in enumerate(pieces):
        u = (2 * np.arange(n) + 1) / n - 1
        design[start : start + n, k] = 1.5 * u**2 - 0.5
        start += n
    return design


def bow_precision(corners_px: Floats, width_mm: float, height_mm: float, bow: Bow) -> Floats:
    """Prior precision (4, 4) of the terms, 1 / px^2."""
    scale = _px_per_mm(corners_px, width_mm, height_mm) / BOW_OF_TERM
    spread = max(bow.own_mm, 1e-5) ** 2 * np.eye(4) + bow.common_mm**2
    return np.asarray(np.linalg.inv(spread * np.outer(scale, scale)), float)


def usual_bows(corners_px: Floats, width_mm: float, height_mm: float, bow: Bow) -> Floats:
    """The terms (4,), px, about which they usually lie."""
    return bow.inward_mm * _px_per_mm(corners_px, width_mm, height_mm) / BOW_OF_TERM


def _px_per_mm(corners_px: Floats, width_mm: float, height_mm: float) -> Floats:
    lengths_px = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1)
    return np.asarray(lengths_px / np.array([width_mm, height_mm, width_mm, height_mm]), float)
