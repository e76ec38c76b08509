"""The lens as a pinhole with radial bend: distorted = undistorted x (1 + k1 r^2 + k2 r^4).

r is in units of the focal length. Photo pixels: x right, y down in the upright photo; the centre of the top-left
pixel is (0, 0).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
#: A profile; the panel's own straight sides; the marks of several photos beside the sides. Rings of one photo are not
#: among them: exactly round ones would take less than 1 % off what the sides leave open, and no hand draws those.
LensSource = Literal["profile", "panel", "marks", "none"]

#: Newton steps this small (focal lengths) leave nothing to mend: the next would be their square.
SMALL = 1e-7
#: Where the lens folds the picture over, a step is as long as for this slope.
STEEP = 0.05


@dataclass(frozen=True)
class Lens:
    """Focal length and principal point in pixels, bend terms, and where they were taken from.

    `covariance` (5, 5) is that of focal_px, cx_px, cy_px, k1, k2 where a profile states it, None where unknown.
    """

    focal_px: float
    cx_px: float
    cy_px: float
    k1: float = 0.0
    k2: float = 0.0
    source: LensSource = "none"
    covariance: Floats | None = field(default=None, compare=False, repr=False)

    def bend(self, normalised: ArrayLike) -> Floats:
        """Undistorted normalised coordinates (..., 2) to photo pixels."""
        n = np.asarray(normalised, float)
        # Coordinate by coordinate: NumPy is slow along so short an axis.
        x, y = n[..., 0], n[..., 1]
        r2 = x * x + y * y
        scale = (r2 * self.k2 + self.k1) * r2
        scale += 1
        scale *= self.focal_px
        out = np.empty(n.shape)
        np.add(x * scale, self.cx_px, out=out[..., 0])
        np.add(y * scale, self.cy_px, out=out[..., 1])
        return out

    def unbend(self, pixels: ArrayLike) -> Floats:
        """Photo pixels (..., 2) to undistorted normalised coordinates, by Newton steps on the radius."""
        d = (np.asarray(pixels, float) - (self.cx_px, self.cy_px)) / self.focal_px
        if self.k1 == 0 and self.k2 == 0:
            return d
        return _straightened(d, self.k1, self.k2)


def unbend_each(lenses: Sequence[Lens], pixels: ArrayLike) -> Floats:
    """What `Lens.unbend` makes of the same pixels (n, 2), for several lenses at once: (len(lenses), n, 2)."""
    axes = np.array([(lens.cx_px, lens.cy_px) for lens in lenses])[:, None]
    focal = np.array([lens.focal_px for lens in lenses])[:, None, None]
    k1, k2 = (np.array([getattr(lens, name) for lens in lenses])[:, None] for name in ("k1", "k2"))
    return _straightened((np.asarray(pixels, float) - axes) / focal, k1, k2)


def _straightened(d: Floats, k1: float | Floats, k2: float | Floats) -> Floats:
    """Distorted normalised coordinates (..., 2) to undistorted ones."""
    x, y = d[..., 0], d[..., 1]
    distorted = np.sqrt(x * x + y * y)
    # The first terms of the inverse series, then Newton.
    r2 = distorted * distorted
    r = distorted * (1 - r2 * (k1 + r2 * (k2 - 3 * k1 * k1)))
    for _ in range(6):
        r2 = r * r
        slope = 1 + r2 * (3 * k1 + r2 * (5 * k2))
        if slope.size and slope.min() < STEEP:
            slope = np.where(np.abs(slope) > STEEP, slope, STEEP)
        step = (r * (1 + r2 * (k1 + r2 * k2)) - distorted) / slope
        r -= step
        if np.abs(step).max(initial=0.0) < SMALL:
            break
    scale = r / np.where(distorted > 0, distorted, 1.0) + (distorted == 0)
    out = np.empty(d.shape)
    np.multiply(x, scale, out=out[..., 0])
    np.multiply(y, scale, out=out[..., 1])
    return out
