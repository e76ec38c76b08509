"""What a stroke looks like across: its width and how soft its edges are."""

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf

Floats = NDArray[np.float64]


class Profile(NamedTuple):
    """A stroke as a box of `width_mm` blurred by a Gaussian of `blur_mm` (standard deviation)."""

    width_mm: float
    blur_mm: float

    @property
    def seen_mm(self) -> float:
        """Full width at half height as the photo shows it; that of the box unless the blur is wide."""
        ratio = self.width_mm / self.blur_mm
        return self.blur_mm * float(np.interp(ratio, RATIOS, _table()[0])) if ratio < RATIOS[-1] else self.width_mm

    def height(self, offsets_mm: Floats) -> Floats:
        """Height (...) at offsets from the stroke's middle, 1 inside a wide stroke."""
        half, soft = self.width_mm / 2, self.blur_mm
        return _step((offsets_mm + half) / soft) - _step((offsets_mm - half) / soft)

    def slope(self, offsets_mm: Floats) -> Floats:
        """Derivative of `height` per mm."""
        half, soft = self.width_mm / 2, self.blur_mm
        return _bell((offsets_mm + half) / soft) / soft - _bell((offsets_mm - half) / soft) / soft

    def widening(self, offsets_mm: Floats) -> Floats:
        """Derivative of `height` per mm of width."""
        half, soft = self.width_mm / 2, self.blur_mm
        return 0.5 * (_bell((offsets_mm + half) / soft) + _bell((offsets_mm - half) / soft)) / soft


def _step(z: Floats) -> Floats:
    """Normal distribution function."""
    return normal_cdf(z)


def _bell(z: Floats) -> Floats:
    """Density of the normal distribution."""
    return np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)


#: Widths in units of the blur for which the blurred box is tabulated; narrower boxes differ only in height.
RATIOS = np.geomspace(1.5, 12.0, 80)


@cache
def _table() -> tuple[Floats, Floats]:
    """Full width at half height in units of the blur, and steepest slope x that width over the height, per ratio."""
    z = np.linspace(0, 9, 901)
    seen, steep = [], []
    for ratio in RATIOS:
        box = Profile(float(ratio), 1.0)
        height = box.height(z)
        full = 2 * float(np.interp(-0.5 * height[0], -height, z))
        seen.append(full)
        steep.append(float(np.abs(box.slope(z)).max()) * full / height[0])
    return np.array(seen), np.array(steep)


def profile_of(mean: Floats, offsets_mm: Floats) -> Profile:
    """Measure a mean profile (M,) whose bare panel is nought: the blurred box of the same width and steepness."""
    seen = max(_crossing(mean, offsets_mm) + _crossing(mean[::-1], -offsets_mm[::-1]), 1e-3)
    top = max(_top(mean, offsets_mm), 1e-9)
    slope = np.gradient(mean, offsets_mm) / top
    steep = 0.5 * (slope[offsets_mm < 0].max() - slope[offsets_mm > 0].min()) * seen
    ratio = float(np.interp(steep, _table()[1], RATIOS))
    blur = seen / float(np.interp(ratio, RATIOS, _table()[0]))
    return Profile(ratio * blur, blur)


def _top(mean: Floats, offsets_mm: Floats) -> float:
    """Height of the profile's middle."""
    step = offsets_mm[1] - offsets_mm[0]
    width = max(float(np.maximum(mean, 0).sum() * step / max(mean.max(), 1e-9)), step)
    return float(mean[np.abs(offsets_mm) <= 0.12 * width].mean())


def _crossing(mean: Floats, offsets_mm: Floats) -> float:
    """First offset beyond the middle at which the profile falls through half its height."""
    level = 0.5 * _top(mean, offsets_mm)
    start = int(np.searchsorted(offsets_mm, -1e-9))
    below = np.nonzero(mean[start:] < level)[0]
    if not len(below) or below[0] == 0:
        return float(offsets_mm[1] - offsets_mm[0])
    j = start + int(below[0])
    share = (mean[j - 1] - level) / (mean[j - 1] - mean[j])
    return float(offsets_mm[j - 1] + share * (offsets_mm[j] - offsets_mm[j - 1]))
