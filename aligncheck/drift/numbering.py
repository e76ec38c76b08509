"""Which ring is which: the pitch of evenly spaced rings and each ring's number counted from the centre.

The inner rings may be hidden or rubbed away, one found ring may be no ring at all, and hands draw a ring off now and
then. So the pitch is chosen as the one that explains the radii best, and only then fitted.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.small import distinct

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: How far drawn rings lie from their even places, mm, and how common that is: a stencil or a set compass, a free hand,
#: a compass that slipped.
SLIPS: tuple[tuple[float, float], ...] = ((0.3, 0.6), (0.8, 0.3), (2.0, 0.1))

#: Share of found rings that are none (a wiped one, the rim of a pot).
STRAY = 0.05

#: Chance that a ring between seen ones is not seen.
MISSED_BETWEEN = 0.03

#: Chance that the innermost ring is not seen, because chalk is rubbed most there or a centrepiece lies on it; and that
#: a centrepiece which hides so many hides the next one too. Rings outside the outermost were never drawn.
MISSED_FIRST, MISSED_NEXT = 0.2, 0.6

#: Closer rings than this are not drawn with chalk, mm.
LEAST_PITCH_MM = 3.0

#: Numbers that the innermost seen ring may have when the others are hidden.
MOST_HIDDEN = 8


class Numbering(NamedTuple):
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
    candidates = _candidates(r)
    evidence = np.round(_evidence(r, candidates), 9)
    # The even division that explains the radii best; the coarsest of equals.
    pitch = float(candidates[evidence == evidence.max()].max())
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


def _closest_of_each(radii: Floats, numbers: Ints, pitch: float | Floats) -> NDArray[np.bool_]:
    """True for the ring (..., n) that lies closest to its place among those of one number."""
    gap = np.abs(radii - numbers * pitch)
    rivals = np.where(numbers[..., :, None] == numbers[..., None, :], gap[..., None, :], np.inf)
    return np.asarray(gap <= rivals.min(axis=-1), bool)


def _candidates(radii: Floats) -> Floats:
    """Pitches (m,) that single rings and pairs of rings suggest, each refined on the rings that agree with it."""
    first = radii[:, None] / np.arange(1, MOST_HIDDEN + 1)
    a, b = np.triu_indices(len(radii), 1)
    pairs = np.abs(radii[a] - radii[b])
    # What differs by less than a hundredth of a millimetre is one pitch.
    rough = distinct(np.round(np.concatenate([first.ravel(), pairs, pairs / 2]), 2))
    least = min(LEAST_PITCH_MM, float(rough.max()))
    rough = rough[rough >= least][:, None]
    k = np.maximum(np.rint(radii / rough), 1)
    k = np.where(np.abs(radii - k * rough) < rough / 4, k, 0)
    weight = (k * k).sum(axis=1)
    refined = np.where(weight > 0, k @ radii / np.maximum(weight, 1), rough[:, 0])
    return distinct(np.round(np.maximum(refined, least), 3))


def _evidence(radii: Floats, pitches: Floats) -> Floats:
    """Log likelihood (m,) of the radii under rings at every multiple of each pitch, against rings anywhere.

    A fine division passes near any radius by chance: the density of a ring anywhere within its cell, 1 / pitch, is what
    it must beat.
    """
    pitch = pitches[:, None]
    numbers = np.maximum(np.rint(radii / pitch), 1).astype(np.int64)
    gap = radii - numbers * pitch
    density = sum(share * np.exp(-0.5 * (gap / sd) ** 2) / (sd * np.sqrt(2 * np.pi)) for sd, share in SLIPS)
    mine = _closest_of_each(radii, numbers, pitch)
    terms = np.log((1 - STRAY) * density * pitch * mine + STRAY).sum(axis=1)
    # A ring far off its place is a stray: it must not fill the place of one that is not seen.
    seen = mine & (np.abs(gap) < pitch / 4)
    innermost = np.where(seen, numbers, np.iinfo(np.int64).max).min(axis=1)
    outermost = np.where(seen, numbers, 0).max(axis=1)
    between = outermost - innermost + 1 - seen.sum(axis=1)
    hidden = np.where(innermost > 1, np.log(MISSED_FIRST) + (innermost - 2.0) * np.log(MISSED_NEXT), 0.0)
    return np.where(seen.any(axis=1), terms + between * np.log(MISSED_BETWEEN) + hidden, -np.inf)
