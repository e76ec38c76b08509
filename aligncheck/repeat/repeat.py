"""The Repeat value: how often a piece repeats about its centre, and where a segment departs from the others."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


@dataclass(frozen=True)
class Departure:
    """A place where one segment is unlike the others.

    Attributes
    ----------
    segment : int
        Clockwise from 12 o'clock, from 1.
    place_mm : ndarray (2,)
        Its middle on the panel.
    radius_mm, angle_deg : float
        From the centre.
    area_mm2 : float
    colour : float
        CIEDE2000 difference of its mean colour from that of the same place in the other segments.
    paint : {"less", "more", "other"}
        Whether bare panel shows where the others have paint, paint where they have bare panel, or neither.
    """

    segment: int
    place_mm: Floats
    radius_mm: float
    angle_deg: float
    area_mm2: float
    colour: float
    paint: Literal["less", "more", "other"] = "other"


@dataclass(frozen=True)
class OneSided:
    """A place that every segment has on one flank and not on the other, though the design is mirrored.

    `radius_mm` from the centre, `off_axis_deg` from the ray that mirrors the segment (positive clockwise); `colour` is
    the CIEDE2000 difference of both flanks.
    """

    radius_mm: float
    off_axis_deg: float
    area_mm2: float
    colour: float


@dataclass(frozen=True)
class Heat:
    """How unlike the others each place is, CIELAB units beyond noise and alignment, on circles about the centre.

    `values` (radii, angles): angles clockwise from 12 o'clock, the first at `first_deg`; radii from `innermost_mm` in
    steps of `step_mm`.
    """

    values: Singles
    innermost_mm: float
    step_mm: float
    first_deg: float


@dataclass(frozen=True)
class Repeat:
    """What repeats.

    Attributes
    ----------
    order : int or None
        Number of like segments by what is drawn, whatever its colour; None where nothing repeats clearly.
    likeness : float
        Mean correlation of the drawing with itself over all turns of that order, 0 to 1.
    colour_order : int or None
        The same with colours: half of `order` where two colours alternate.
    edge_mm : float or None
        Mean distance by which edges in a segment lie off those of the consensus.
    colour : float or None
        Mean CIEDE2000 difference of a segment's colours from the consensus, light evened out.
    departures : tuple of Departure
        The largest first.
    left_out : tuple of int
        Segments in which most of what the others show is not there (yet): not compared.
    mirror_likeness : float or None
        How alike a segment and its mirror image are, 0 to 1.
    mirror_deg : float or None
        The ray that mirrors the first segment, where the design is mirrored: then both flanks are compared too.
    one_sided : tuple of OneSided
        What one flank of every segment has and the other has not; the largest first.
    glare_share : float
        Share of the painting that glare hides in one segment or another: not compared.
    glare_deg : (float, float) or None
        From where to where that lies, clockwise.
    notes : tuple of Note
        What could not be judged.
    """

    order: int | None
    likeness: float
    colour_order: int | None = None
    edge_mm: float | None = None
    colour: float | None = None
    departures: tuple[Departure, ...] = ()
    left_out: tuple[int, ...] = ()
    mirror_likeness: float | None = None
    mirror_deg: float | None = None
    one_sided: tuple[OneSided, ...] = ()
    glare_share: float = 0.0
    glare_deg: tuple[float, float] | None = None
    notes: tuple[Note, ...] = ()
    centre_mm: tuple[float, float] = (0.0, 0.0)
    heat: Heat | None = field(default=None, repr=False)
