"""The Detection value: what is drawn and roughly where, before anything is measured finely."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.marks import Line

Floats = NDArray[np.float64]


class Detection(NamedTuple):
    """The rough picture of the marks, in panel mm.

    Attributes
    ----------
    light : bool
        Whether the marks are lighter than the panel.
    centre_mm : ndarray (2,)
        The point the layout turns about, good to about 0.3 mm.
    segments : int
        Number of places for spokes round the centre.
    phase_deg : float
        Bearing of the first place after 12 o'clock; place k lies at `phase_deg` + 360 k / `segments`.
    directions_deg : ndarray (segments,)
        Bearing about `centre_mm` at which each place's spoke was seen; nan where nothing is seen.
    strengths : ndarray (segments,)
        How strongly each place's spoke was seen, 1 for a usual spoke of this layout.
    ring_radii_mm : ndarray (m,)
        Approximate radii of everything ring-like, rising, also of what may turn out to be no ring.
    diagonals : tuple of Line
        Measured corner-to-corner construction lines.
    midlines : tuple of Line
        Measured construction lines from side to side about the panel's middle.
    reach_mm : float
        About how far from the centre the usual spoke ends.
    outermost_mm : float
        About how far from the centre the longest spoke ends: painters draw every second one, or the quarters, longer.
    stroke_mm : float
        Rough width of a stroke.
    others_deg : ndarray (k,)
        Bearings of straight strokes that fit no place (wiped layouts, strays).
    rival : int or None
        Another number of places that explains the strokes nearly as well.
    """

    light: bool
    centre_mm: Floats
    segments: int
    phase_deg: float
    directions_deg: Floats
    strengths: Floats
    ring_radii_mm: Floats
    diagonals: tuple[Line, ...]
    reach_mm: float
    outermost_mm: float
    stroke_mm: float
    others_deg: Floats
    rival: int | None = None
    midlines: tuple[Line, ...] = ()

    @property
    def construction(self) -> tuple[Line, ...]:
        """All measured lines that run across the panel, beyond the layout."""
        return (*self.diagonals, *self.midlines)

    @property
    def pitch_deg(self) -> float:
        """Angle between neighbouring places."""
        return 360.0 / self.segments

    @property
    def places_deg(self) -> Floats:
        """Bearing (segments,) of each place on the even comb."""
        return np.asarray(self.phase_deg + self.pitch_deg * np.arange(self.segments), float)
