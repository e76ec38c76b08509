"""The panel on either side of a stroke: where a wiped line or a smudge lies along one side, it is taken off.

Through such a smear the stroke's edge on that side starts from another level, and a straight baseline through both
flanks leaves part of it: the stroke seems to lie towards the smear. Chalk covers what lies under it, so the ground is
taken as one level on each side, and half of each within the stroke. Smears are long: the two levels are means over
some millimetres along the stroke, which a row's own grain hardly touches.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median
from aligncheck.marks.bows import GRAIN_MM
from aligncheck.marks.profile import Profile
from aligncheck.marks.rows import flank_reach

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Levels are means over this length along the stroke, mm.
ALONG_MM = 7.0
#: A stroke's blurred edge reaches this many standard deviations out: beyond it lies the ground.
CLEAR_OF_EDGE = 2.5
#: What is uneven by many times this multiple of its noise is taken off; less, by parts.
PLAIN = 2.0
#: A wiped line keeps at most this part of its chalk; what is more uneven is something else.
FILM = 0.5
#: A wiped line is some 3 mm wide (standard deviation of a bell); near its middle it falls off outward by this at most.
WIPED_SD_MM, STEEPEST = 1.3, 1.3


def level_ground(
    values: Floats, offsets_mm: Floats, profile: Profile, alone: Bools, step_mm: float, unit: float
) -> Floats:
    """Rows (S, R, M) less what the ground of one side differs from the other's.

    `alone` (S, R) rows tell it, where it is a film and no paint; `unit` is the step of a strong stroke.
    """
    half = 0.5 * profile.width_mm
    near, far = half + CLEAR_OF_EDGE * profile.blur_mm, flank_reach(profile.seen_mm)
    near = min(near, far - 0.5)
    middle = 0.5 * (near + far)
    zones = [(offsets_mm >= lo - 1e-9) & (offsets_mm <= hi + 1e-9) for lo, hi in ((near, middle), (middle, far))]
    if not all(zone.any() for zone in zones):
        return values
    uneven = [0.5 * (values[..., zone].mean(2) - values[..., zone[::-1]].mean(2)) for zone in zones]
    film = alone & (np.abs(uneven[0]) < 0.5 * FILM * unit) & (np.abs(uneven[1]) < 0.5 * FILM * unit)
    levels = [_along(part, film, step_mm) for part in uneven]
    at = [float(offsets_mm[zone].mean()) for zone in zones]
    # A bell through both levels, as wide as a wiped line, tells the level at the stroke's edge.
    fall = np.clip(levels[0] / np.where(levels[1] == 0, np.inf, levels[1]), 0.0, STEEPEST)
    inward, apart = at[0] - half, at[1] - at[0]
    beside = levels[0] * fall ** (inward / apart) * np.exp(-0.5 * inward * (inward + apart) / WIPED_SD_MM**2)
    noise = _noise(uneven[0], film, step_mm)
    plain = np.clip(1 - (PLAIN * noise / np.maximum(np.abs(levels[0]), 1e-9)) ** 2, 0.0, 1.0)
    shape = normal_cdf((offsets_mm - half) / profile.blur_mm) - normal_cdf((-offsets_mm - half) / profile.blur_mm)
    # Straight from the stroke's edge to the near level, and on through the far one.
    away = np.maximum(np.abs(offsets_mm), half)
    inner = np.clip((at[0] - away) / (at[0] - half), 0.0, 1.0)
    outer = np.maximum((away - at[0]) / (at[1] - at[0]), 0.0)
    parts = np.stack([inner, 1 - inner - outer, outer]) * shape
    ground = np.stack([beside, *levels], axis=-1) * plain[..., None]
    return np.asarray(values - ground @ parts, float)


def _noise(uneven: Floats, told: Bools, step_mm: float) -> float:
    """Standard deviation of a running mean, from how rows differ that lie far enough apart not to share their grain."""
    lag = max(1, round(GRAIN_MM / step_mm))
    both = told[:, lag:] & told[:, :-lag]
    if not both.any():
        return np.inf
    single = 1.4826 * median(np.abs(uneven[:, lag:] - uneven[:, :-lag])[both]) / np.sqrt(2)
    return single * float(np.sqrt(max(GRAIN_MM, step_mm) / ALONG_MM))


def _along(uneven: Floats, told: Bools, step_mm: float) -> Floats:
    """Running means (S, R) of what `told` rows show."""
    known = told.astype(float)
    size = (2 * round(0.5 * ALONG_MM / step_mm) + 1, 1)
    sums = [cv2.blur(part, size, borderType=cv2.BORDER_CONSTANT) for part in (np.nan_to_num(uneven) * known, known)]
    return np.asarray(sums[0] / np.maximum(sums[1], 1e-9), float)
