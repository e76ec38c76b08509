"""Bearings at which straight strokes start from about the centre: sums along lines, and their peaks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks.polar import ANGLES, Polar

Floats = NDArray[np.float64]

#: Lines may pass the centre by this share of the panel's shorter half side, in so many steps to each side.
PASS_SHARE, PASS_STEPS = 0.02, 4
#: Nearer the centre than this share of the half side all spokes run together.
INNER_SHARE = 0.09
#: A strong stroke counts one per place, a wiped one less: the unit is cut at this part of the strongest places.
CUT, STRONG_SHARE = 0.7, 0.985
APART_DEG = 1.0
#: So many neighbouring radii are joined before the cut: chalk's gaps and the ground's grain even out.
JOINED = 3
#: A peak must stand this many standard deviations above the ground.
NOISE_SD = 2.0


@dataclass(frozen=True)
class Peaks:
    """Straight strokes, strongest first: bearing (n,), passing distance in mm (n,) clockwise, strength (n,).

    `noise` is the standard deviation of what the bare ground adds up to, in the strengths' unit.
    """

    bearing_deg: Floats
    pass_mm: Floats
    strength: Floats
    noise: float = 1.0

    def __len__(self) -> int:
        return len(self.bearing_deg)


def find_peaks(polar: Polar, half_mm: float) -> Peaks:
    """Straight strokes about the centre.

    `half_mm` is the shorter half side of the panel. A peak's strength is its length in units of a strong stroke.
    """
    votes, passes = _line_votes(polar, half_mm)
    best = votes.max(0)
    wide = round(APART_DEG * ANGLES / 360)
    around = np.stack([np.roll(best, k) for k in range(-wide, wide + 1)])
    # Between the strokes lies what the ground's grain adds up to; its lower half is free of strokes.
    middle = median(best)
    spread = middle - float(quantile(best, 0.16))
    level = middle + NOISE_SD * spread
    tops = np.nonzero((best >= around.max(0)) & (best > level))[0]
    tops = tops[np.argsort(-best[tops], kind="stable")][:120]
    offset = passes[votes[:, tops].argmax(0)]
    bearing = _sharp_bearing(best, tops)
    scale = polar.step_mm * JOINED
    return Peaks(bearing, offset, (best[tops] - level) * scale, max(spread * scale, 1e-6))


def _sharp_bearing(best: Floats, tops: NDArray[np.intp]) -> Floats:
    """Parabola through each top and its neighbours, degrees."""
    left, mid, right = best[tops - 1], best[tops], best[(tops + 1) % ANGLES]
    bend = left - 2 * mid + right
    shift = np.where(bend < 0, 0.5 * (left - right) / np.where(bend < 0, bend, -1), 0)
    return ((tops + np.clip(shift, -0.5, 0.5)) * 360.0 / ANGLES) % 360.0


def _line_votes(polar: Polar, half_mm: float) -> tuple[Floats, Floats]:
    """Sums (offsets, angles) along straight lines that pass the centre at each offset, and the offsets in mm."""
    groups = len(polar.radial) // JOINED
    rows = polar.radial[: groups * JOINED].reshape(groups, JOINED, ANGLES).mean(1)
    radii = polar.radii_mm[: groups * JOINED].reshape(groups, JOINED).mean(1)
    keep = (radii > INNER_SHARE * half_mm) & (radii < 1.05 * half_mm)
    rows, radii = rows[keep], radii[keep]
    strong = quantile(rows.ravel(), STRONG_SHARE) * CUT
    rows = np.minimum(rows / max(float(strong), 1e-6), 1.0)
    rows = rows - medians(rows, 1)[:, None]
    offsets = np.linspace(-PASS_SHARE, PASS_SHARE, 2 * PASS_STEPS + 1) * half_mm
    votes = np.zeros((len(offsets), ANGLES), np.float32)
    # A line of bearing a that passes the centre at d lies at bearing a + asin(d / r) at radius r.
    turn = np.degrees(np.arcsin(np.clip(offsets[:, None] / radii, -1, 1))) * ANGLES / 360
    columns = np.arange(ANGLES)
    # Sheared by whole and fractional columns: one wrapped copy of each row serves all offsets.
    wrapped = np.concatenate([rows, rows, rows[:, :2]], axis=1)
    for i in range(len(rows)):
        whole = np.floor(turn[:, i]).astype(int)
        part = (turn[:, i] - whole)[:, None].astype(rows.dtype)
        at = (whole % ANGLES)[:, None] + columns
        votes += wrapped[i][at] * (1 - part) + wrapped[i][at + 1] * part
    return votes.astype(float), offsets
