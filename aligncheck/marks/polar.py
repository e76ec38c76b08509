"""The ridges laid out about the layout's centre: rows are radii, columns bearings."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
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

    @property
    def step_mm(self) -> float:
        """From one radius to the next."""
        return float(self.radii_mm[1] - self.radii_mm[0])


def polar(ridges: Ridges, panel: Panel, centre_mm: Floats) -> Polar:
    """Sample the ridges on a lattice about `centre_mm`, out to the panel's farthest side."""
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    step = float(half.max() * 1.02 / RADII)
    radii = np.asarray(step * (np.arange(RADII) + 0.5), float)
    u = outward(np.arange(ANGLES) * 360.0 / ANGLES)
    points = centre_mm + radii[:, None, None] * u
    xx, xy, yy = ridges.sample(points)
    ux, uy = u[:, 0].astype(np.float32), u[:, 1].astype(np.float32)
    along = xx * (ux * ux) + 2 * xy * (ux * uy) + yy * (uy * uy)
    across = xx + yy - along
    edge = EDGE * 2 * half.min()
    inside = (np.abs(points) < half - edge).all(-1)
    # A dot or grain falls off to all sides; a stroke along its length does not.
    radial = np.where(inside, np.maximum(across - np.maximum(along, 0), 0), 0)
    circular = np.where(inside, np.maximum(along - np.maximum(across, 0), 0), 0)
    return Polar(radial, circular, inside, radii)
