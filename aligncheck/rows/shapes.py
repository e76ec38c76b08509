"""The side of a petal as a curve between base and tip: a chord with a bow, in a few numbers for any maker's petal."""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: Number of bow terms: a plain bow, one that leans to tip or base (an ogee where it crosses the chord), a round end,
#: and one more wave for hands of their own.
TERMS = 4
#: Terms at so few places are kept for the next that asks.
KNOWN = 256


def bow_terms(t: ArrayLike) -> Floats:
    """Bow (..., TERMS) off the chord at share `t` of the way from tip to base; each term is 0 at both ends.

    The third rises like a square root at the tip, as any smooth round end does.
    """
    t = np.asarray(t, float)
    return _known(t.tobytes(), False).reshape(*t.shape, TERMS) if t.size <= KNOWN else _terms(t)


def bow_slopes(t: ArrayLike) -> Floats:
    """Derivative (..., TERMS) of `bow_terms` by t (t > 0)."""
    t = np.asarray(t, float)
    return _known(t.tobytes(), True).reshape(*t.shape, TERMS) if t.size <= KNOWN else _slopes(t)


@lru_cache(maxsize=64)
def _known(shares: bytes, slopes: bool) -> Floats:
    """Terms or slopes at shares that are asked for again and again: every side is looked at in the same places."""
    t = np.frombuffer(shares, float)
    found = _slopes(t) if slopes else _terms(t)
    found.setflags(write=False)
    return found


def _terms(t: Floats) -> Floats:
    hump = 4 * t * (1 - t)
    return np.stack([hump, hump * (1 - 2 * t), 2.598 * np.sqrt(t) * (1 - t), hump * (1 - 6 * t + 6 * t * t)], axis=-1)


def _slopes(t: Floats) -> Floats:
    root = np.sqrt(t)
    return np.stack(
        [
            4 - 8 * t,
            4 * (1 - 6 * t + 6 * t * t),
            2.598 * (0.5 / root - 1.5 * root),
            4 * ((1 - 2 * t) * (1 - 6 * t + 6 * t * t) + (t - t * t) * (12 * t - 6)),
        ],
        axis=-1,
    )


def step_lengths(points: Floats) -> Floats:
    """Length (..., n) of a curve (..., n, 2) that each of its points stands for, as numpy.gradient has it."""
    half = np.diff(points, axis=-2)
    steps = np.concatenate([half[..., :1, :], (half[..., 1:, :] + half[..., :-1, :]) / 2, half[..., -1:, :]], axis=-2)
    return np.asarray(np.hypot(steps[..., 0], steps[..., 1]), float)


def stations(count: int) -> Floats:
    """Shares t (count,) along a side, denser at the tip, where a round end turns fast."""
    return np.asarray(((np.arange(count) + 0.5) / count) ** 1.5, float)
