"""How many places does the layout have? Each count is tried as an even comb over the straight strokes."""

from typing import NamedTuple

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


class Comb(NamedTuple):
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
    counts = np.array([segments] if segments else range(FEWEST, MOST + 1))
    tried = _Tried(peaks, cornered, counts)
    scores, units = tried.judged()
    phase = scores.argmax(1)
    best_of_count = scores.max(1)
    order = np.argsort(-best_of_count, kind="stable")
    k = int(order[0])
    best = Comb(
        int(counts[k]),
        float(tried.phases[k, phase[k]]),
        tried.strongest(k, int(phase[k])),
        float(units[k, phase[k]]),
        float(best_of_count[k]),
    )
    if len(order) > 1 and best.score - best_of_count[order[1]] < OPEN * best.segments:
        return best._replace(rival=int(counts[order[1]]))
    return best


def near_corners(peaks: Peaks, corners_deg: Floats) -> NDArray[np.bool_]:
    """Whether each peak (n,) may be a corner-to-corner construction line."""
    return np.asarray(np.abs(wrap(peaks.bearing_deg[:, None] - corners_deg)).min(1) < CORNER_DEG)


class _Tried:
    """All combs that are tried, of C counts with F phases each, and at which place of each the m peaks stand."""

    def __init__(self, peaks: Peaks, cornered: NDArray[np.bool_], counts: NDArray[np.intp]):
        self.strength, self.cornered, self.counts = peaks.strength, cornered, counts
        #: How strongly each peak speaks for itself as a spoke.
        self.choice = peaks.strength * np.where(cornered, CORNER_WEIGHT, 1.0)
        bearing, pitch = peaks.bearing_deg, 360.0 / counts[:, None, None]
        gate = np.minimum(OFF_PLACE_DEG, OFF_PLACE_SHARE * pitch)
        self.phases, self.distinct = self._phases(bearing, pitch, gate)
        turns = (bearing - self.phases[..., None]) * counts[:, None, None] / 360.0
        nearest = np.round(turns)
        self.place = nearest.astype(int) % counts[:, None, None]
        self.near = np.abs(turns - nearest) * pitch < gate

    def _phases(self, bearing: Floats, pitch: Floats, gate: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Phases (C, F), each strong peak's own, drawn twice to the mean of the peaks that share it; which differ."""
        phases = bearing[:SEEDS] % pitch[..., 0]
        for _ in range(2):
            off = (bearing - phases[..., None] + pitch / 2) % pitch - pitch / 2
            w = self.choice * (np.abs(off) < gate)
            phases = phases + (w * off).sum(2) / np.maximum(w.sum(2), 1e-9)
        phases = np.sort(phases % pitch[..., 0], axis=1)
        return phases, np.diff(phases, axis=1, prepend=phases[:, :1] - 1.0) > SAME_DEG

    def _best(self, weight: Floats) -> Floats:
        """Largest weight (C, F, places) of the peaks at each place; `weight` (m,) or (C, F, m)."""
        slot = np.zeros((*self.phases.shape, int(self.counts.max())))
        count, phase, peak = np.nonzero(self.near)
        each = np.broadcast_to(weight, self.near.shape)[count, phase, peak]
        at = (count * slot.shape[1] + phase) * slot.shape[2] + self.place[count, phase, peak]
        np.maximum.at(slot.reshape(-1), at, each)
        return slot

    def judged(self) -> tuple[Floats, Floats]:
        """Scores (C, F) of all combs, and the strength of a usual spoke in each."""
        n = self.counts[:, None]
        # The unit belongs to the hypothesis: with three spokes most of the strongest peaks are no spokes.
        third = float(self.strength[min(2, len(self.strength) - 1)])
        places = np.arange(int(self.counts.max()))
        ordered = np.sort(np.where(places < n[..., None], self._best(self.choice), np.inf), axis=2)
        low, high = (
            np.take_along_axis(ordered, np.broadcast_to(at[..., None], (*self.phases.shape, 1)), 2)[..., 0]
            for at in ((n - 1) // 2, n // 2)
        )
        units = np.maximum((low + high) / 2, max(0.4 * third, 1e-9))
        earned = np.minimum(1.0, self.strength / (FULL * units[..., None])) ** 2
        reward = self._best(earned * np.where(self.cornered, CORNER_WORTH, 1.0)).sum(2)
        stray = (earned * (~self.near & ~self.cornered)).sum(2)
        return np.where(self.distinct, reward - EMPTY * (n - reward) - stray, -np.inf), units

    def strongest(self, count: int, phase: int) -> NDArray[np.intp]:
        """Index (n,) of the strongest peak at each place of one comb, -1 where none."""
        taken = np.full(int(self.counts[count]), -1)
        order = np.nonzero(self.near[count, phase])[0]
        order = order[np.argsort(self.choice[order], kind="stable")]
        taken[self.place[count, phase, order]] = order
        return taken
