"""What a stroke looks like across: its width and how soft its edges are."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Profile:
    """A stroke as a box of `width_mm` blurred by a Gaussian of `blur_mm` (standard deviation)."""

    width_mm: float
    blur_mm: float

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
    from scipy.special import ndtr

    return np.asarray(ndtr(z), float)


def _bell(z: Floats) -> Floats:
    """Density of the normal distribution."""
    return np.exp(-0.5 * z * z) / np.sqrt(2 * np.pi)


def width_at_half_height(mean: Floats, offsets_mm: Floats) -> float:
    """Full width at half height of a mean profile (M,) whose bare panel is nought."""
    top = float(mean[np.abs(offsets_mm) < 0.25 * _span(mean, offsets_mm)].mean())
    right = _crossing(mean, offsets_mm, 0.5 * top)
    left = _crossing(mean[::-1], -offsets_mm[::-1], 0.5 * top)
    return left + right


def profile_of(mean: Floats, offsets_mm: Floats) -> Profile:
    """Measure a mean profile (M,); the blur is that of a Gaussian edge with the same steepest slope."""
    width = width_at_half_height(mean, offsets_mm)
    top = max(float(mean[np.abs(offsets_mm) <= 0.25 * width].mean()), 1e-9)
    steep = np.gradient(mean, offsets_mm) / top
    edge = 0.5 * (steep[offsets_mm < 0].max() - steep[offsets_mm > 0].min())
    blur = 1 / (np.sqrt(2 * np.pi) * max(edge, 1e-3))
    # A softer edge than a third of the width would mean a stroke without a middle: chalk never looks so.
    return Profile(width, float(np.clip(blur, 0.05, 0.35 * width)))


def _span(mean: Floats, offsets_mm: Floats) -> float:
    """Rough width: area over height."""
    step = offsets_mm[1] - offsets_mm[0]
    return max(float(np.maximum(mean, 0).sum() * step / max(mean.max(), 1e-9)), step)


def _crossing(mean: Floats, offsets_mm: Floats, level: float) -> float:
    """First offset beyond the middle at which the profile falls through `level`."""
    start = int(np.searchsorted(offsets_mm, 0.0))
    below = np.nonzero(mean[start:] < level)[0]
    if not len(below) or below[0] == 0:
        return float(offsets_mm[1] - offsets_mm[0])
    j = start + int(below[0])
    share = (mean[j - 1] - level) / (mean[j - 1] - mean[j])
    return float(offsets_mm[j - 1] + share * (offsets_mm[j] - offsets_mm[j - 1]))
