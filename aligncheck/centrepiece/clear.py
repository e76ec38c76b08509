"""Clear glass on the panel: what colours and hidden lines cannot tell, the places of the lines seen through it do."""

from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.centrepiece.shifts import Shifts, line_shifts
from aligncheck.centrepiece.window import Floats
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.photo import Photo

#: Discs about the centre that are tried, mm: a piece is known no better than that from the lines it lies on.
RADII_MM = 12.0 * 1.24 ** np.arange(9)
#: Lines are looked at out to here, mm: outside the largest disc they say where they really run.
LOOKED_MM = 100.0
#: How many deviations from nought are no chance: lines are few and not quite normal, and several discs are tried.
SURE = 6.0
#: Depths t (1 - 1/n) of glass 2 to 20 mm thick; beyond, the lines have moved for another reason.
DEPTHS_MM = (0.7, 6.8)
#: Places nearer an outline than this, mm, belong to neither side: the running median of a line mixes them.
EDGE_MM = 4.0
#: Thickness over depth: 1 / (1 - 1/n), n of glass 1.52.
THICKNESS = 1.52 / 0.52


class Clear(NamedTuple):
    """Something clear about the centre.

    Attributes
    ----------
    radius_mm : float
        Of the disc about the centre within which lines are shifted: a quarter more or less.
    depth_mm, depth_u95_mm : float
        What the lines are shifted by where the line of sight slopes by 45 degrees.
    shifts : Shifts
        The lines about it.
    """

    radius_mm: float
    depth_mm: float
    depth_u95_mm: float
    shifts: Shifts

    @property
    def values(self) -> dict[str, str]:
        """For its sentence."""
        return {"thick": f"{THICKNESS * self.depth_mm:.0f}", "radius": f"{self.radius_mm:.0f}"}

    @property
    def notes(self) -> tuple[Note, ...]:
        """What the painter should know."""
        return (Note("clear_on_panel", self.values),)

    def bounded_by(self, outline_mm: Floats) -> float:
        """How well lines are shifted within an outline (n, 2) and not outside, against the disc: about 1 if all are."""
        contour = np.asarray(outline_mm, np.float32).reshape(-1, 1, 2)
        within = np.array([cv2.pointPolygonTest(contour, (x, y), True) for x, y in self.shifts.at_mm.tolist()])
        # At the very edge a place shows some of both.
        shifts, inside = self.shifts.only(np.abs(within) > EDGE_MM), within[np.abs(within) > EDGE_MM, None] > 0
        depth, deviation = shifts.depth(inside)
        return float(depth[0] / deviation[0] * self.depth_u95_mm / (1.96 * self.depth_mm))


def seen_through(photo: Photo, marks: Marks) -> Clear | None:
    """What clear thing the lines about the centre are seen through; None where they run as they should.

    A photo from right above shifts nothing, and a thin piece little: then nothing is found.
    """
    shifts = line_shifts(photo, marks, LOOKED_MM)
    if shifts is None:
        return None
    away = np.hypot(*(shifts.at_mm - marks.centre.xy_mm).T)
    depth, deviation = shifts.depth(away[:, None] < RADII_MM)
    k = int((depth / deviation).argmax())
    if depth[k] < SURE * deviation[k] or not DEPTHS_MM[0] <= depth[k] <= DEPTHS_MM[1]:
        return None
    return Clear(float(RADII_MM[k]), float(depth[k]), float(1.96 * deviation[k]), shifts)
