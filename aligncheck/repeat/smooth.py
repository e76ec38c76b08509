"""Means over so many mm of a picture on circles: round the circle these are the more steps the nearer the centre."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.repeat.unrolled import STEP_MM

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


def smoothed(ring: Singles, arc_mm: Floats, sd_mm: float) -> Singles:
    """Gaussian means (radii, steps, channels) of whole circles, whose steps are `arc_mm` (radii,) long."""
    sd = sd_mm / STEP_MM
    kernel = cv2.getGaussianKernel(2 * int(np.ceil(3 * sd)) + 1, sd)
    outward = cv2.sepFilter2D(ring, -1, np.ones(1), kernel).reshape(ring.shape)
    steps = ring.shape[1]
    turns = np.fft.rfftfreq(steps) * 2 * np.pi
    kept = np.exp(-0.5 * (sd_mm / arc_mm[:, None] * turns) ** 2).astype(np.float32)
    spectrum = np.fft.rfft(outward, axis=1) * kept[..., None]
    return np.fft.irfft(spectrum, steps, axis=1).astype(np.float32)
