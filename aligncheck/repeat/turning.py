"""How much a pattern about a point looks like itself after a turn, and how often it repeats."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.view import ColourView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Differences between these two smoothings, mm, are drawing and paint: finer is grain, coarser is light.
FINE_MM, COARSE_MM = 0.7, 6.0
#: Steps outward, mm, and round the circle; nearer the centre nothing turns.
RADIUS_STEP_MM, ANGLES, INNERMOST_MM = 1.0, 1440, 6.0
#: Orders looked for. Designs of more segments are not drawn by hand.
ORDERS = range(2, 65)
#: A pattern that repeats N times also repeats N/2 times, no less clearly; a multiple of the best order is the true one
#: where it keeps this share of its likeness. Petals halfway between others lend twice the order up to a half.
MULTIPLE_SHARE = 0.75
#: The count of the marks stands with this share of the best likeness: diagonals and strays make other orders likely.
MARKED_SHARE = 0.5
#: Colours alternate where this share of what single segments leave unexplained is left by twos or threes.
ALTERNATING_SHARE = 0.5
#: Below this likeness nothing repeats that one could rely on: a plain panel's grain gives under a twentieth.
LEAST_LIKENESS = 0.08


@dataclass(frozen=True)
class Turning:
    """What repeats about a point.

    Attributes
    ----------
    order : int or None
        How many times; None where nothing repeats clearly.
    likeness : float
        Mean correlation of the pattern with itself over all turns of that order, 0 to 1.
    likenesses : dict of int to float
        The same for every order looked at.
    """

    order: int | None
    likeness: float
    likenesses: dict[int, float]


def banded(view: ColourView) -> Singles:
    """The view's drawing and paint alone (h, w, 3): neither grain nor uneven light."""
    height, width = view.shape
    fine = cv2.GaussianBlur(view.colours, (0, 0), FINE_MM * view.px_per_mm)
    small = cv2.resize(view.colours, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    coarse = cv2.GaussianBlur(small, (0, 0), COARSE_MM * view.px_per_mm / 4)
    return np.asarray(fine - cv2.resize(coarse, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def edges(view: ColourView, picture: Singles) -> Singles:
    """How sharply the banded `picture` changes (h, w, 1), whichever way: drawing without its colours."""
    across, down = (cv2.Sobel(picture, cv2.CV_32F, dx, dy) for dx, dy in ((1, 0), (0, 1)))
    # The fourth root of the squared sum keeps strong edges from outvoting all others.
    steepness = np.sqrt(np.sqrt((across * across + down * down).sum(2)))
    fine = cv2.GaussianBlur(steepness, (0, 0), FINE_MM * view.px_per_mm)
    coarse = cv2.GaussianBlur(fine, (0, 0), COARSE_MM * view.px_per_mm)
    return np.asarray((fine - coarse)[..., None], np.float32)


def around(picture: Singles, view: ColourView, centre_mm: Floats, outermost_mm: float) -> tuple[Floats, Singles]:
    """Radii (n,) and the picture (n, ANGLES, channels) along circles, clockwise from 12 o'clock."""
    radii = np.arange(INNERMOST_MM, outermost_mm, RADIUS_STEP_MM)
    angles = np.arange(ANGLES) * (2 * np.pi / ANGLES)
    points = radii[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    place = (points * view.px_per_mm + view.origin_px).astype(np.float32)
    found = cv2.remap(picture, place[..., 0], place[..., 1], cv2.INTER_LINEAR)
    return radii, np.asarray(found.reshape(len(radii), ANGLES, -1), np.float32)


def turning(radii: Floats, circles: Singles, marked: int | None = None) -> Turning:
    """Find the order of a pattern on circles (n, ANGLES, channels) about its centre.

    `marked`: how many segments the marks have; it stands where the pattern agrees with it.
    """
    correlation = _autocorrelation(radii, circles)
    likenesses = {order: _mean_at_turns(correlation, order) for order in ORDERS}
    best = max(likenesses, key=lambda order: likenesses[order])
    if likenesses[best] < LEAST_LIKENESS:
        return Turning(None, likenesses[best], likenesses)
    if marked in likenesses and likenesses[marked] > MARKED_SHARE * likenesses[best]:
        return Turning(marked, likenesses[marked], likenesses)
    multiples = [k for k in range(best, ORDERS[-1] + 1, best) if likenesses[k] > MULTIPLE_SHARE * likenesses[best]]
    return Turning(multiples[-1], likenesses[multiples[-1]], likenesses)


def alternating(by_colour: Turning, order: int, least: int) -> int:
    """How often a pattern of `order` segments repeats with its colours: `order`, or a part of it where they alternate.

    Colours alternate where every second segment (or third, ...) leaves half as much unexplained as every one does.
    """
    likenesses = by_colour.likenesses
    parts = [k for k in range(least, order) if order % k == 0 and k in likenesses]
    best = max(parts, key=lambda k: (round(likenesses[k], 2), k), default=order)
    unexplained = 1 - likenesses.get(order, 1.0)
    return best if 1 - likenesses.get(best, 0.0) < ALTERNATING_SHARE * unexplained else order


def _autocorrelation(radii: Floats, circles: Singles) -> Floats:
    """Likeness (ANGLES,) after every turn: 1 at none; circles count by their length, their mean colour not at all."""
    power = (np.abs(np.fft.rfft(circles, axis=1)) ** 2).sum(2)
    power[:, 0] = 0
    total = np.fft.irfft((power * radii[:, None]).sum(0), ANGLES)
    return np.asarray(total / max(total[0], 1e-12), float)


def _mean_at_turns(correlation: Floats, order: int) -> float:
    """Mean likeness over the turns of an order, interpolated between steps."""
    place = np.arange(1, order) * (ANGLES / order)
    return float(np.interp(place, np.arange(ANGLES + 1), np.append(correlation, correlation[0])).mean())
