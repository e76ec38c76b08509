"""The Marks value. Every measured number carries its own covariance, that of the drawing and the pixels alone.

What the map (panel) adds is not in these covariances: `aligncheck.drift` adds it from `Panel.field`. Own covariances
are scaled so that 1.96 standard deviations hold 95 % even where few degrees of freedom carry them.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, clockwise
from aligncheck.notes import Note
from aligncheck.panel import Panel

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """A straight stroke from `inner_mm` to `outer_mm` (2,), each end laid on the stroke's least-squares line.

    `across_covariance` (2, 2), mm^2: of the offsets across the line at the inner and the outer end, positive clockwise.
    `along_sd_mm`: standard deviation of the inner and the outer end along the line.
    """

    inner_mm: Floats
    outer_mm: Floats
    across_covariance: Floats
    width_mm: float = 0.0
    along_sd_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def angle_deg(self) -> float:
        """Direction from the inner to the outer end, 0 to 360."""
        return float(bearing(self.outer_mm - self.inner_mm))

    @property
    def length_mm(self) -> float:
        """Distance between the ends."""
        return float(np.hypot(*(self.outer_mm - self.inner_mm)))

    @property
    def across(self) -> Floats:
        """Unit vector (2,) across the line, clockwise."""
        return clockwise(self.angle_deg)


@dataclass(frozen=True)
class Spoke(Line):
    """One spoke: the straight line from its inner to its outer end, over all its strokes.

    `strokes` lists both pieces where it was drawn in two that differ, inner first. `place` counts the segments'
    places clockwise from the first spoke after 12 o'clock.
    """

    place: int = 0
    strokes: tuple[Line, ...] = ()


@dataclass(frozen=True)
class Waves:
    """A ring's radial deviations from its circle: a_k cos kt + b_k sin kt, t the bearing, k = 2 to 6.

    `terms_mm` (10,): a and b of each order in turn. `oval_mm` (2,): those of order 2 as read, held to nothing;
    `oval_covariance` (2, 2), mm^2, of that reading. `hand_mm`: standard deviation of such a term among the finer waves
    of the photo's rings, which are the hand's or the grain's alone.
    """

    terms_mm: Floats
    oval_mm: Floats
    oval_covariance: Floats
    hand_mm: float


@dataclass(frozen=True)
class Ring:
    """One ring: the least-squares circle through it.

    `covariance` (3, 3), mm^2: of radius, centre x, centre y. `coverage`: share of the circle where it was seen.
    `roundness_mm`: largest less smallest radial deviation from the least-squares circle (ISO 12181); `waves` what that
    is made of, None where it was not read.
    """

    centre_mm: Floats
    radius_mm: float
    covariance: Floats
    width_mm: float = 0.0
    roundness_mm: float = 0.0
    coverage: float = 1.0
    waves: Waves | None = None


@dataclass(frozen=True)
class Centre:
    """A point (2,) in mm with its own covariance (2, 2), and what it was found from."""

    xy_mm: Floats
    covariance: Floats
    source: Literal["mark", "spokes", "repeat"]


@dataclass(frozen=True)
class Marks:
    """Everything drawn that was found, in the frame of `panel`.

    `spokes` run clockwise from 12 o'clock, `rings` from the inside out. `diagonals` are corner-to-corner construction
    lines (each as a Line from one corner's side to the other's). `light` says whether the marks are lighter than the
    panel.
    """

    panel: Panel
    centre: Centre
    spokes_meet: Centre | None
    segments: int
    spokes: tuple[Spoke, ...]
    rings: tuple[Ring, ...]
    diagonals: tuple[Line, ...] = ()
    light: bool = True
    notes: tuple[Note, ...] = field(default=())
