"""How many places does the layout have? Each count is tried as an even comb over the straight strokes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import wrap
from aligncheck.marks.directions import Peaks

Floats = NDArray[np.float64]

FEWEST, MOST = 3, 60
#: A hand's spoke may stand this far off its place, and never nearer to the next place than to its own.
OFF_PLACE_DEG, OFF_PLACE_SHARE = 2.4, 0.22
#: Full marks for a place from this part of the usual strength; the square below makes wiped lines count little.
FULL = 0.75
#: Charge for an empty place: a little less than the reward for a filled one, so that a rubbed spoke is forgiven.
EMPTY = 0.9
#: Corner-to-corner construction lines are seen this near the corners' bearings.
CORNER_DEG = 1.6
#: A stroke towards a corner counts less as a spoke, since it may be construction.
CORNER_WEIGHT = 0.45
SEEDS = 10


@dataclass(frozen=True)
class Comb:
    """A count of places and what was seen at them.

    Attributes
    ----------
    segments : int
    phase_deg : float
        Bearing of place 0, within the first pitch.
    peak : ndarray (segments,), int
        Index of the peak taken at each place, -1 where none.
    unit : float
        Strength of a usual spoke.
    score, runner_up : float
        Of this count and of the best other one.
    """

    segments: int
    phase_deg: float
    peak: NDArray[np.intp]
    unit: float
    score: float
    runner_up: float = 0.0


def count_places(peaks: Peaks, corners_deg: Floats, segments: int | None = None) -> Comb | None:
    """The comb that explains the peaks best; None where there are no peaks.

    Parameters
    ----------
    peaks : Peaks
    corners_deg : ndarray (4,)
        Bearings of the panel's corners from the centre.
    segments : int or None
        The count where it is known.
    """
    if not len(peaks):
        return None
    cornered = near_corners(peaks, corners_deg)
    combs = [_best_of_count(peaks, cornered, n) for n in ([segments] if segments else range(FEWEST, MOST + 1))]
    combs.sort(key=lambda comb: -comb.score)
    best = combs[0]
    runner_up = combs[1].score if len(combs) > 1 else -np.inf
    return Comb(best.segments, best.phase_deg, best.peak, best.unit, best.score, float(runner_up))


def near_corners(peaks: Peaks, corners_deg: Floats) -> NDArray[np.bool_]:
    """Whether each peak (n,) may be a corner-to-corner construction line."""
    return np.asarray(np.abs(wrap(peaks.bearing_deg[:, None] - corners_deg)).min(1) < CORNER_DEG)


def _best_of_count(peaks: Peaks, cornered: NDArray[np.bool_], n: int) -> Comb:
    """Try the phases of the strongest peaks, each drawn to the middle of the peaks that share it."""
    pitch = 360.0 / n
    gate = min(OFF_PLACE_DEG, OFF_PLACE_SHARE * pitch)
    weight = peaks.strength * np.where(cornered, CORNER_WEIGHT, 1.0)
    phases: list[float] = []
    for seed in peaks.bearing_deg[:SEEDS] % pitch:
        phase = seed
        for _ in range(2):
            off = _off(peaks.bearing_deg, phase, pitch)
            w = weight * (np.abs(off) < gate)
            phase += float((w * off).sum() / max(w.sum(), 1e-9))
        if all(abs(_off(np.array([phase]), other, pitch)[0]) > 0.2 for other in phases):
            phases.append(phase % pitch)
    return max((_score(peaks, weight, cornered, n, phase, gate) for phase in phases), key=lambda comb: comb.score)


def _off(bearing_deg: Floats, phase: float, pitch: float) -> Floats:
    """Signed distance from the nearest place."""
    return (bearing_deg - phase + pitch / 2) % pitch - pitch / 2


def _score(peaks: Peaks, weight: Floats, cornered: NDArray[np.bool_], n: int, phase: float, gate: float) -> Comb:
    pitch = 360.0 / n
    place = np.round((peaks.bearing_deg - phase) / pitch).astype(int) % n
    near = np.abs(_off(peaks.bearing_deg, phase, pitch)) < gate
    taken = np.full(n, -1)
    slot = np.zeros(n)
    for i in np.nonzero(near)[0][::-1]:
        if weight[i] >= slot[place[i]]:
            slot[place[i]], taken[place[i]] = weight[i], i
    # The unit belongs to the hypothesis: with three spokes most of the strongest peaks are no spokes.
    unit = max(float(np.median(slot)), 0.4 * float(np.sort(peaks.strength)[-min(3, len(peaks))]), 1e-9)
    reward = np.minimum(1.0, (slot / (FULL * unit)) ** 2).sum()
    extra = ~near & ~cornered
    stray = np.minimum(1.0, (peaks.strength[extra] / (FULL * unit)) ** 2).sum()
    return Comb(n, phase % pitch, taken, unit, float(reward - EMPTY * (n - reward) - stray))
