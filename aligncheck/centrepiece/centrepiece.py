"""The Centrepiece value: what lies on the panel, as the photo shows it and as it is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.notes import Note

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SegmentReach:
    """Greatest reach within one segment, between the ideal places of two spokes; `from_deg` is the first of them."""

    from_deg: float
    reach_mm: float
    reach_u95_mm: float


@dataclass(frozen=True)
class Arrangement:
    """How the piece lies against the spokes.

    Attributes
    ----------
    off_centre_mm : (float, float)
        From the centre to the middle (centroid) of the piece's plan, x right, y down.
    off_centre_u95_mm : float
    order : int or None
        How many times the outline repeats on its way round, where it does.
    turn_deg, turn_u95_deg : float or None
        From the nearest spoke to the nearest tip of the repeat, clockwise.
    """

    off_centre_mm: tuple[float, float]
    off_centre_u95_mm: float
    order: int | None = None
    turn_deg: float | None = None
    turn_u95_deg: float | None = None


@dataclass(frozen=True)
class Centrepiece:
    """What lies on the panel. Reaches are from the layout's centre; intervals are 95 %.

    Attributes
    ----------
    outline_mm : ndarray (n, 2)
        The largest piece as the photo shows it, along the sight lines on the panel's face, clockwise.
    pieces_mm : tuple of ndarray
        All pieces, the largest first.
    seen_reach_mm, seen_reach_deg : float
        How far out the outlines go as seen, and where.
    reach_mm, reach_deg : float
        The same of the piece's own plan, its height considered.
    height_mm : (float, float)
        Heights of the outer edge that were allowed for; both the same where it was given.
    ring : int or None
        The smallest ring that contains the reach; None where there is none, or it is too close to say.
    ring_near : int or None
        The ring that the reach comes too close to: it stays inside that one, or inside the next.
    past_ring : int or None
        The outermost ring, where the reach surely goes past all.
    ring_spare_mm : float or None
        From the reach to `ring`, in the reach's direction.
    segments : tuple of SegmentReach
    start_radius_mm : float
        Where the first row may start, `clearance_mm` kept free.
    doubtful : bool
        The outline may be wrong by more than its interval; that is widened.
    """

    outline_mm: Floats
    pieces_mm: tuple[Floats, ...]
    seen_reach_mm: float
    seen_reach_u95_mm: float
    seen_reach_deg: float
    reach_mm: float
    reach_u95_mm: float
    reach_deg: float
    height_mm: tuple[float, float]
    ring: int | None
    ring_near: int | None
    past_ring: int | None
    ring_spare_mm: float | None
    segments: tuple[SegmentReach, ...]
    arrangement: Arrangement
    start_radius_mm: float
    clearance_mm: float
    doubtful: bool = False
    notes: tuple[Note, ...] = ()
