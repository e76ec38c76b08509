"""The point that the painted dots turn about, from all kinds at once, and how sure it is."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots
from aligncheck.dots.intervals import RIM_PX
from aligncheck.dots.places import Places
from aligncheck.geometry.angles import bearing
from aligncheck.marks import Centre

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]

#: Rounds of the robust fit, and from how many times the hand's spread on a dot counts little.
ROUNDS, OFF = 6, 3.0


def turning_point(dots: Dots, places: Places, px_per_mm: float) -> Centre:
    """Fit one centre to the dots of all kinds, each kind's dots being one arm turned to every segment.

    In complex numbers, z = c + w^j a_k: the centre c is common, the arm a_k the kind's own. Dots of one segment may be
    off together, as the spoke they follow is; so the covariance is taken between segments. What light does to all rims
    alike it cannot show: that is added.
    """
    kind, segment = np.nonzero(places.filled)
    z = np.array([dots.dots[i].centre_mm for i in places.dot[kind, segment]]) @ (1, 1j)
    turn = np.exp(2j * np.pi * segment / dots.order)
    weight = np.ones(len(z))
    for _ in range(ROUNDS):
        # Less the arm that each kind shows, a dot's place is `lever` times the centre.
        lever, rest = (v - turn * _mean(weight, turn.conj() * v, kind) for v in (np.ones_like(z), z))
        total = float((weight * np.abs(lever) ** 2).sum())
        pull = weight * lever.conj() / max(total, 1e-9)
        centre = (pull * rest).sum()
        off = rest - lever * centre
        spread = max(1.48 * float(np.median(np.abs([off.real, off.imag]))), 1e-6)
        weight = 1 / (1 + np.abs(off / (OFF * spread)) ** 2) ** 2
    share = pull * off
    return Centre(
        np.array([centre.real, centre.imag]),
        _between_segments(z - centre, share, dots.order) + (RIM_PX / px_per_mm) ** 2 * np.eye(2),
        "repeat",
    )


def _mean(weight: Floats, values: Complex, kind: NDArray[np.int64]) -> Complex:
    """Weighted mean of each value's kind, one for every value."""
    total = np.bincount(kind, weight)
    return np.asarray(
        (np.bincount(kind, weight * values.real) + 1j * np.bincount(kind, weight * values.imag))[kind] / total[kind]
    )


def _between_segments(arm: Complex, share: Complex, order: int) -> Floats:
    """Covariance (2, 2) of the sum of all dots' shares, where those of one segment hang together."""
    degrees = np.asarray(bearing(np.column_stack([arm.real, arm.imag])), float)
    number = np.floor(degrees * order / 360).astype(int) % order
    sums = np.column_stack([np.bincount(number, part, order) for part in (share.real, share.imag)])
    return np.asarray(sums.T @ sums * order / max(order - 1, 1), float)
