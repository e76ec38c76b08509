"""Spokes and rings as a pattern: every drawn pixel's direction points at, or runs round, one centre.

For a pixel whose line runs at angle u and that lies in direction w from a centre, cos 4 (u - w) is 1 on spokes and
rings alike, and 0 on average on grids, grain and weave.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Complex = NDArray[np.complexfloating]
Grey = NDArray[np.floating]


@dataclass(frozen=True)
class LinePixels:
    """Pixels on thin lines.

    Attributes
    ----------
    points : ndarray (n,) complex, x + i y
    along : ndarray (n,) complex, unit: which way the line runs, squared (so that both ways are one)
    weight : ndarray (n,)
    """

    points: Complex
    along: Complex
    weight: Floats

    def __len__(self) -> int:
        return len(self.points)

    def taken(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> "LinePixels":
        """Those at `index`."""
        return LinePixels(self.points[index], self.along[index], self.weight[index])


def line_pixels(grey: NDArray[Any], share: float, margin: int = 0) -> tuple[LinePixels, LinePixels]:
    """The strongest `share` of pixels on light lines, and the same on dark ones; `margin` pixels of rim left out."""
    smooth = cv2.GaussianBlur(grey, (0, 0), 1.0)
    xx = cv2.filter2D(smooth, -1, np.array([[1, -2, 1]], np.float32))
    yy = cv2.filter2D(smooth, -1, np.array([[1], [-2], [1]], np.float32))
    xy = np.asarray(cv2.filter2D(smooth, -1, np.array([[1, 0, -1], [0, 0, 0], [-1, 0, 1]], np.float32) / 4), np.float32)
    half_sum, half_difference = (xx + yy) / 2, (xx - yy) / 2
    root: Grey = np.sqrt(half_difference * half_difference + xy * xy)
    # Curvature across a light line is negative; along it the curvature is the other, near zero.
    return (
        _strongest(root - half_sum, half_difference, xy, 1.0, share, margin),
        _strongest(root + half_sum, half_difference, xy, -1.0, share, margin),
    )


def _strongest(
    strength: Grey,
    half_difference: Grey,
    xy: Grey,
    sign: float,
    share: float,
    margin: int,
) -> LinePixels:
    inner = strength[margin : strength.shape[0] - margin, margin : strength.shape[1] - margin]
    count = max(int(inner.size * share), 1)
    limit = np.partition(inner.ravel(), inner.size - count)[inner.size - count]
    y, x = np.nonzero(inner > max(float(limit), 0.5))
    y, x = y + margin, x + margin
    twice = sign * (half_difference[y, x] + 1j * xy[y, x])
    along = twice / np.maximum(np.abs(twice), 1e-9)
    value = strength[y, x].astype(float)
    # A bright stray chip must not outvote a whole spoke.
    weight = np.minimum(value, 3 * median(value)) if len(value) else value
    return LinePixels(x + 1j * y, along.astype(complex), weight)


def agreement(pixels: LinePixels, centres: Complex) -> Floats:
    """How much of the weight runs to or round each of `centres` (k,): mean of cos 4 (u - w), -1 to 1."""
    if len(pixels) == 0:
        return np.zeros(len(centres))
    # cos 2 v = 2 cos^2 v - 1 with v = 2 (u - w), in real numbers, and short ones: a quarter of the time.
    single = np.float32
    along, weight = pixels.along, pixels.weight.astype(single)
    x = pixels.points.real.astype(single) - centres.real.astype(single)[:, None]
    y = pixels.points.imag.astype(single) - centres.imag.astype(single)[:, None]
    cosine = along.real.astype(single) * (x * x - y * y) + (2 * along.imag).astype(single) * (x * y)
    cosine /= np.maximum(x * x + y * y, single(1e-9))
    known = (along.real**2 + along.imag**2) @ pixels.weight
    return np.asarray((2 * ((cosine * cosine) @ weight) - known) / pixels.weight.sum(), float)


def stronger(light: LinePixels, dark: LinePixels) -> LinePixels:
    """Which of both is drawn: the one with more weight in its strong pixels."""
    return light if (light.weight**3).sum() >= (dark.weight**3).sum() else dark
