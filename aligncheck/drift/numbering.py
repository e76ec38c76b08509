"""Which ring is which: the pitch of evenly spaced rings and each ring's number counted from the centre.

The inner rings may be hidden or rubbed away, one found ring may be no ring at all, and hands draw a ring off now and
then. So the pitch is chosen as the one that explains the radii best, and only then fitted.
"""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: How far drawn rings lie from their even places, mm, and how common that is: a stencil or a set compass, a free hand,
#: a compass that slipped.
SLIPS: tuple[tuple[float, float], ...] = ((0.3, 0.6), (0.8, 0.3), (2.0, 0.1))

#: Share of found rings that are none (a wiped one, the rim of a pot).
STRAY = 0.05

#: Chance that a ring is not seen: between seen ones, and inside the innermost seen one, where the centrepiece lies and
#: chalk is rubbed most. Rings outside the outermost were never drawn, so they cost nothing.
MISSED_BETWEEN, MISSED_INSIDE = 0.03, 0.25

#: Closer rings than this are not drawn with chalk, mm.
LEAST_PITCH_MM = 3.0

#: Numbers that the innermost seen ring may have when the others are hidden.
MOST_HIDDEN = 8


@dataclass(frozen=True)
class Numbering:
    """The pitch in mm (None without rings), each ring's number, and which rings the pitch was fitted to."""

    pitch_mm: float | None
    numbers: Ints
    fitted: NDArray[np.bool_]


def number_rings(radii_mm: ArrayLike) -> Numbering:
    """Number rings of unknown pitch.

    Parameters
    ----------
    radii_mm : array_like, shape (n,)
        Rising or not.

    Returns
    -------
    Numbering
        The pitch is p = sum(k r) / sum(k^2) over the rings that share their number with no closer one.
    """
    r = np.asarray(radii_mm, float)
    if len(r) == 0:
        return Numbering(None, np.zeros(0, np.int64), np.zeros(0, bool))
    # The even division that explains the radii best; the coarsest of equals.
    pitch = max(_candidates(r), key=lambda p: (round(_evidence(r, p), 9), p))
    for _ in range(5):
        numbers = np.maximum(np.rint(r / pitch), 1).astype(np.int64)
        fitted = _closest_of_each(r, numbers, pitch)
        k = numbers[fitted]
        pitch = float(k @ r[fitted] / (k @ k))
    # At the end the numbers are those of the fitted pitch, as the definition has it.
    numbers = np.maximum(np.rint(r / pitch), 1).astype(np.int64)
    return Numbering(pitch, numbers, _closest_of_each(r, numbers, pitch))


def number_by_pitch(radii_mm: ArrayLike, pitch_mm: float) -> Ints:
    """Numbers of rings whose pitch is given."""
    return np.maximum(np.rint(np.asarray(radii_mm, float) / pitch_mm), 1).astype(np.int64)


def number_by_radii(radii_mm: ArrayLike, listed_mm: ArrayLike) -> Ints:
    """Numbers (from 1) of the nearest listed radii."""
    gaps = np.abs(np.asarray(radii_mm, float)[:, None] - np.asarray(listed_mm, float))
    return np.asarray(gaps.argmin(axis=1) + 1, np.int64)


def _closest_of_each(radii: Floats, numbers: Ints, pitch: float) -> NDArray[np.bool_]:
    """True for the ring that lies closest to its place among those of one number."""
    gap = np.abs(radii - numbers * pitch)
    rivals = np.where(numbers[:, None] == numbers, gap, np.inf)
    return np.asarray(gap <= rivals.min(axis=1), bool)


def _candidates(radii: Floats) -> list[float]:
    """Pitches that single rings and pairs of rings suggest, each refined on the rings that agree with it."""
    first = [x / k for x in radii for k in range(1, MOST_HIDDEN + 1)]
    pairs = [abs(a - b) / m for a, b in itertools.combinations(radii, 2) for m in (1, 2)]
    # What differs by less than a hundredth of a millimetre is one pitch.
    rough = [float(p) for p in np.unique(np.round((*first, *pairs), 2)) if p >= LEAST_PITCH_MM] or [
        max(float(radii.min()), 1e-6)
    ]
    refined = []
    for p in rough:
        k = np.maximum(np.rint(radii / p), 1)
        near = np.abs(radii - k * p) < p / 4
        refined.append(float(k[near] @ radii[near] / (k[near] @ k[near])) if near.any() else p)
    return sorted({round(p, 3) for p in refined if p >= min(LEAST_PITCH_MM, *rough)}) or rough


def _evidence(radii: Floats, pitch: float) -> float:
    """Log likelihood of the radii under rings at every multiple of `pitch`, against rings anywhere.

    A fine division passes near any radius by chance: the density of a ring anywhere within its cell, 1 / pitch, is what
    it must beat.
    """
    numbers = np.maximum(np.rint(radii / pitch), 1)
    gap = radii - numbers * pitch
    density = sum(share * np.exp(-0.5 * (gap / sd) ** 2) / (sd * np.sqrt(2 * np.pi)) for sd, share in SLIPS)
    mine = _closest_of_each(radii, numbers.astype(np.int64), pitch)
    terms = np.log((1 - STRAY) * density * pitch * mine + STRAY)
    # A ring far off its place is a stray: it must not fill the place of one that is not seen.
    seen = np.unique(numbers[mine & (np.abs(gap) < pitch / 4)])
    if len(seen) == 0:
        return -np.inf
    between = seen[-1] - seen[0] + 1 - len(seen)
    return float(terms.sum() + between * np.log(MISSED_BETWEEN) + (seen[0] - 1) * np.log(MISSED_INSIDE))
