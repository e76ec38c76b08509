"""Rings out of round: how oval they read, what of the map would make them so, and how oval a hand draws them."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.marks import Ring
from aligncheck.marks.moved import AROUND, around, circle_by
from aligncheck.panel import Panel

Floats = NDArray[np.float64]

#: A hand's own ovals are larger than its finer waves, by this factor: each by itself, and as much again all alike.
HAND_OVAL = 2.0


class Ovals(NamedTuple):
    """The ovals of n rings.

    Attributes
    ----------
    read_mm : ndarray (2 n,)
        Cosine and sine of twice the bearing, of each ring in turn.
    slopes : ndarray (2 n, 10)
        How the map's parameters p change them.
    spread : ndarray (2 n, 2 n)
        Covariance of ovals that are not the map's: as read, and as drawn.
    """

    read_mm: Floats
    slopes: Floats
    spread: Floats


def ovals_of(panel: Panel, rings: tuple[Ring, ...]) -> Ovals:
    """The ovals of those rings that were read all round."""
    seen = [(ring, ring.waves) for ring in rings if ring.waves is not None]
    read = np.array([waves.oval_mm for _, waves in seen]).reshape(-1)
    spread = oval_spread([waves.hand_mm for _, waves in seen], [waves.oval_covariance for _, waves in seen])
    return Ovals(read, _slopes(panel, [ring for ring, _ in seen]), spread)


def _slopes(panel: Panel, rings: list[Ring]) -> Floats:
    # One call for all rings: the map's derivative costs the same for one point as for a thousand.
    fields = panel.field(np.array([around(ring) for ring in rings]).reshape(-1, AROUND, 2))
    return np.concatenate([np.zeros((0, 10)), *(circle_by(field)[3:] for field in fields)])


def oval_spread(hands_mm: Sequence[float], read: Sequence[Floats]) -> Floats:
    """Covariance (2 n, 2 n) of n rings' ovals that are not the map's: as read (2, 2) each, and as drawn by the hand."""
    n = len(hands_mm)
    hand = HAND_OVAL * np.repeat(hands_mm, 2)
    spread = np.outer(hand, hand) * np.kron(np.eye(n) + 1, np.eye(2))
    for k, one in enumerate(read):
        spread[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] += one
    return spread
