"""The ridges laid out about the layout's centre: rows are radii, columns bearings."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.geometry.small import quantile
from aligncheck.panel import Panel
from aligncheck.strokes import Ridges

Floats = NDArray[np.float64]
Picture = NDArray[np.float32]

ANGLES = 900
RADII = 300
#: The panel's own edge and a border drawn along it are no part of the layout.
EDGE = 0.03


@dataclass(frozen=True)
class Polar:
    """Strength of strokes that point at the centre and of strokes that run round it.

    Attributes
    ----------
    radial, circular : ndarray (radii, angles), float32
        How much like a spoke and like a ring each place is, zero where it is not at all or outside the panel.
    inside : ndarray (radii, angles), bool
    radii_mm : ndarray (radii,)
    """

    radial: Picture
    circular: Picture
    inside: NDArray[np.bool_]
    radii_mm: Floats

    @cached_property
    def strong_radial(self) -> float:
        """What a strong place on a spoke shows."""
        return _strong(self.radial)

    @cached_property
    def strong_circular(self) -> float:
        """What a strong place on a ring shows."""
        return _strong(self.circular)

    @property
    def step_mm(self) -> float:
        """From one radius to the next."""
        return float(self.radii_mm[1] - self.radii_mm[0])


def _strong(picture: Picture) -> float:
    # A sixth of the places is plenty: a layout of thin lines covers some hundredths of them.
    return max(float(quantile(picture[::2, ::3].ravel(), 0.985)), 1e-6)


def polar(ridges: Ridges, panel: Panel, centre_mm: Floats) -> Polar:
    """Sample the ridges on a lattice about `centre_mm`, out to the panel's farthest side."""
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    step = float(half.max() * 1.02 / RADII)
    radii = np.asarray(step * (np.arange(RADII) + 0.5), float)
    u = outward(np.arange(ANGLES) * 360.0 / ANGLES)
    r, (ux, uy) = radii.astype(np.float32)[:, None], u.astype(np.float32).T
    xx, xy, yy = ridges.sample(np.float32(centre_mm[0]) + r * ux, np.float32(centre_mm[1]) + r * uy)
    along = xx * (ux * ux) + xy * (2 * ux * uy) + yy * (uy * uy)
    across = xx + yy - along
    inside = radii[:, None] < _to_edge(centre_mm, u, half - EDGE * 2 * half.min())
    # A dot or grain falls off to all sides; a stroke along its length does not.
    return Polar(_ridge(across, along, inside), _ridge(along, across, inside), inside, radii)


def _ridge(over: Picture, lengthwise: Picture, inside: NDArray[np.bool_]) -> Picture:
    """How much more the picture falls off over a stroke than along it, none where it does not."""
    rest = np.maximum(lengthwise, 0)
    np.subtract(over, rest, out=rest)
    np.maximum(rest, 0, out=rest)
    rest *= inside
    return rest


def _to_edge(centre_mm: Floats, u: Floats, half_mm: Floats) -> Floats:
    """Distance (n,) from the centre to the rectangle of these half sides, along each unit vector (n, 2)."""
    reach = (half_mm - np.sign(u) * centre_mm) / np.maximum(np.abs(u), 1e-9)
    return np.asarray(reach.min(-1), float)
