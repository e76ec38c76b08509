"""Radii at which something runs round the centre: sums over circles whose centre may stand a little off."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians, quantile
from aligncheck.marks.polar import ANGLES, Polar

Floats = NDArray[np.float64]

#: Rings are set with their own centre: a hand puts it within this many mm of the spokes' centre.
SHIFT_MM, SHIFT_STEPS = 1.4, 2
#: Bearings are joined in groups of fifteen, 6 degrees: a circle that stands off by 1.4 mm stays within 0.1 mm there.
GROUP = 15
#: A ring stands out from the radii beside it by this factor.
STANDS_OUT = 1.2
#: Smaller circles are centre marks, a finger's breadth is no ring.
SMALLEST_MM = 6.0


def ring_candidates(polar: Polar, outermost_mm: float) -> Floats:
    """Approximate radii (m,) in mm, rising, of everything up to `outermost_mm` that may be a ring."""
    profile = ring_profile(polar)
    radii, step = polar.radii_mm, polar.step_mm
    near = max(1, round(1.2 / step))
    wide = max(3, round(5.0 / step))
    padded = np.pad(profile, wide, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * wide + 1)
    ground = medians(windows, 1)
    tallest = windows[:, wide - near : wide + near + 1].max(1)
    # Far from every stroke the ground itself is next to nothing; a tenth of a strong ring is the least that counts.
    floor = 0.1 * float(quantile(profile, 0.95))
    tops = (profile >= tallest) & (profile > STANDS_OUT * ground) & (profile - ground > floor)
    tops &= (radii > SMALLEST_MM) & (radii < outermost_mm)
    return np.asarray([_top(profile, radii, int(i)) for i in np.nonzero(tops)[0]])


def _top(profile: Floats, radii: Floats, i: int) -> float:
    """Parabola through a maximum and its neighbours."""
    if not 0 < i < len(radii) - 1:
        return float(radii[i])
    left, mid, right = profile[i - 1 : i + 2]
    bend = left - 2 * mid + right
    return float(radii[i] + (0.5 * (left - right) / bend if bend < 0 else 0.0) * (radii[1] - radii[0]))


def ring_profile(polar: Polar) -> Floats:
    """Best mean over circles of each radius (radii,), the centre tried on a small lattice."""
    clipped = np.minimum(polar.circular / polar.strong_circular, 1.0)
    angles = ANGLES // GROUP
    rows = clipped.reshape(len(clipped), angles, GROUP).mean(2)
    inside = polar.inside.reshape(len(clipped), angles, GROUP).mean(2)
    a = (np.arange(angles) + 0.5) * 2 * np.pi / angles
    shifts = np.linspace(-SHIFT_MM, SHIFT_MM, 2 * SHIFT_STEPS + 1) / polar.step_mm
    base, column = np.arange(len(rows))[:, None], np.arange(angles)[None]
    best = np.zeros(len(rows))
    weight = np.maximum(inside.mean(1), 0.25)
    for dx in shifts:
        for dy in shifts:
            moved = np.round(dx * np.sin(a) - dy * np.cos(a)).astype(int)
            at = np.clip(base + moved, 0, len(rows) - 1)
            np.maximum(best, rows[at, column].mean(1), out=best)
    return best / weight
