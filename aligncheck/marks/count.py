"""How many places does the layout have? Each count is tried as an even comb over the straight strokes."""

from dataclasses import dataclass, replace

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
#: A stroke towards a corner counts less as a spoke, since it may be construction: in the choice between strokes, and in
#: what its place earns, however long it is. At EMPTY / (1 + EMPTY) that would be worth as much as no stroke, at 1 as
#: much as a spoke: half-way between. So four diagonals between eight spokes do not make sixteen, and yet four spokes
#: upon the diagonals and four between them are eight.
CORNER_WEIGHT, CORNER_WORTH = 0.45, 0.74
#: A count whose lead over the next best, a place, is less than this is open: four spokes between the diagonals, and
#: eight, four of them upon the diagonals, look alike (0.25). Otherwise right counts lead by 0.4 and more.
OPEN = 0.3
#: Phases of so many of the strongest peaks are tried; nearer than this they are the same.
SEEDS, SAME_DEG = 8, 0.2


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
    score : float
    rival : int or None
        The next best count, where this one hardly leads.
    """

    segments: int
    phase_deg: float
    peak: NDArray[np.intp]
    unit: float
    score: float
    rival: int | None = None


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
    if len(combs) > 1 and best.score - combs[1].score < OPEN * best.segments:
        return replace(best, rival=combs[1].segments)
    return best


def near_corners(peaks: Peaks, corners_deg: Floats) -> NDArray[np.bool_]:
    """Whether each peak (n,) may be a corner-to-corner construction line."""
    return np.asarray(np.abs(wrap(peaks.bearing_deg[:, None] - corners_deg)).min(1) < CORNER_DEG)


def _best_of_count(peaks: Peaks, cornered: NDArray[np.bool_], n: int) -> Comb:
    """Try the phases of the strongest peaks, each drawn to the middle of the peaks that share it."""
    pitch = 360.0 / n
    gate = min(OFF_PLACE_DEG, OFF_PLACE_SHARE * pitch)
    weight = _choice(peaks.strength, cornered)
    phases = _phases(peaks.bearing_deg, weight, pitch, gate)
    slots = _Slots(peaks.bearing_deg, n, phases, gate)
    scores, units = _score(peaks.strength, cornered, slots)
    best = int(scores.argmax())
    return Comb(n, float(phases[best]), slots.strongest(best, weight), float(units[best]), float(scores[best]))


def _phases(bearing_deg: Floats, weight: Floats, pitch: float, gate: float) -> Floats:
    """Phases (f,) worth trying: each strong peak's own, drawn twice to the mean of the peaks that share it."""
    phases = bearing_deg[:SEEDS] % pitch
    for _ in range(2):
        off = (bearing_deg[None] - phases[:, None] + pitch / 2) % pitch - pitch / 2
        w = weight * (np.abs(off) < gate)
        phases = phases + (w * off).sum(1) / np.maximum(w.sum(1), 1e-9)
    phases = np.sort(phases % pitch)
    apart = np.diff(phases, prepend=phases[0] - 1.0) > SAME_DEG
    return np.asarray(phases[apart], float)


class _Slots:
    """Which of `n` places each peak (m,) belongs to at each phase (f,), and whether it is near enough to count."""

    def __init__(self, bearing_deg: Floats, n: int, phases: Floats, gate: float):
        turns = (bearing_deg - phases[:, None]) * n / 360.0
        nearest = np.round(turns)
        self.n = n
        self.place = nearest.astype(int) % n
        self.near = np.abs(turns - nearest) * 360.0 / n < gate

    def best(self, weight: Floats) -> Floats:
        """Largest weight (f, n) of the peaks at each place; `weight` (m,) or (f, m)."""
        slot = np.zeros((len(self.place), self.n))
        phase, peak = np.nonzero(self.near)
        each = np.broadcast_to(weight, self.near.shape)[phase, peak]
        np.maximum.at(slot, (phase, self.place[phase, peak]), each)
        return slot

    def strongest(self, phase: int, weight: Floats) -> NDArray[np.intp]:
        """Index (n,) of that peak at one phase, -1 where none."""
        taken = np.full(self.n, -1)
        order = np.nonzero(self.near[phase])[0]
        order = order[np.argsort(weight[order], kind="stable")]
        taken[self.place[phase, order]] = order
        return taken


def _score(strength: Floats, cornered: NDArray[np.bool_], slots: _Slots) -> tuple[Floats, Floats]:
    """Scores (f,) of combs, and the strength of a usual spoke in each."""
    slot = slots.best(_choice(strength, cornered))
    # The unit belongs to the hypothesis: with three spokes most of the strongest peaks are no spokes.
    third = float(strength[min(2, len(strength) - 1)])
    middle = np.sort(slot, axis=1)[:, [(slots.n - 1) // 2, slots.n // 2]].mean(1)
    unit = np.maximum(middle, max(0.4 * third, 1e-9))
    earned = np.minimum(1.0, strength / (FULL * unit[:, None])) ** 2
    reward = slots.best(earned * np.where(cornered, CORNER_WORTH, 1.0)).sum(1)
    stray = (earned * (~slots.near & ~cornered)).sum(1)
    return reward - EMPTY * (slots.n - reward) - stray, unit


def _choice(strength: Floats, cornered: NDArray[np.bool_]) -> Floats:
    """How strongly each peak (m,) speaks for itself as a spoke."""
    return strength * np.where(cornered, CORNER_WEIGHT, 1.0)
