"""The lane: the way around the marks on which beads and arrows lie, just beyond the longest spoke."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.drift import Drift
from aligncheck.geometry.angles import bearing, outward
from aligncheck.overlay.view import View

Floats = NDArray[np.float64]

#: In q: beyond the longest spoke, and what an arrow needs between its lane and the picture's frame.
BEYOND, ARROW_ROOM = 8.5, 9.0


class Lane(NamedTuple):
    """Radius of the lane about `centre_mm` as a function of the bearing: one circle, or one height per spoke.

    `angles_deg` (n,) ascending, `radii_mm` (n,) at them; between them it runs straight.
    """

    centre_mm: Floats
    angles_deg: Floats
    radii_mm: Floats

    def radius_mm(self, angle_deg: ArrayLike) -> Floats:
        """Radius at bearings (...)."""
        return np.interp(np.asarray(angle_deg, float), self.angles_deg, self.radii_mm, period=360.0)

    def point_mm(self, angle_deg: ArrayLike) -> Floats:
        """Points (..., 2) of the lane at bearings (...)."""
        return self.centre_mm + self.radius_mm(angle_deg)[..., None] * outward(angle_deg)

    def arc_mm(self, start_deg: float, length_mm: float) -> Floats:
        """A piece of lane (n, 2) from `start_deg`, positive lengths clockwise, at the radius of its start."""
        radius = float(self.radius_mm(start_deg))
        turn = np.degrees(length_mm / radius) * np.linspace(0, 1, 17)
        return np.asarray(self.centre_mm + radius * outward(start_deg + turn), float)

    def outline_mm(self, beyond_mm: float = 0.0) -> Floats:
        """The lane, or a line `beyond_mm` outside it, as a closed polygon (n, 2)."""
        angles = np.arange(0.0, 360.0, 3.0)
        return self.point_mm(angles) + beyond_mm * outward(angles)


def lane_of(view: View, drift: Drift) -> Lane:
    """One circle beyond all marks; where that would leave the picture, each spoke's own end decides."""
    centre = np.array(drift.centre_mm)
    ends = np.array([s.spoke.outer_mm for s in drift.spokes]).reshape(-1, 2) - centre
    reaches = np.hypot(*ends.T)
    rings = [r.radius_mm + float(np.hypot(*(r.ring.centre_mm - centre))) for r in drift.rings]
    inmost = max(rings, default=view.mm(20.0))
    beyond = view.mm(BEYOND)
    common = Lane(centre, np.array([0.0]), np.array([max([inmost, *reaches]) + beyond]))
    angles = bearing(ends) if len(ends) else np.array([0.0])
    if _fits(view, common.point_mm(angles)):
        return common
    order = np.argsort(angles)
    return Lane(centre, angles[order], np.maximum(reaches, inmost)[order] + beyond)


def room_mm(drift: Drift) -> tuple[float, float]:
    """From the longest spoke's circle to the panel's edges at the sides, and to those above and below.

    Least over the spokes that get an arrow; infinite without one, negative where the circle leaves the panel.
    """
    centre, panel = np.array(drift.centre_mm), drift.marks.panel
    ends = np.array([s.spoke.outer_mm for s in drift.spokes]).reshape(-1, 2) - centre
    marked = np.array([s.verdict != "within" for s in drift.spokes], bool)
    if not marked.any():
        return float("inf"), float("inf")
    tips = centre + np.hypot(*ends.T).max() * outward(bearing(ends[marked]))
    least = (np.array([panel.width_mm, panel.height_mm]) / 2 - np.abs(tips)).min(axis=0)
    return float(least[0]), float(least[1])


def _fits(view: View, points_mm: Floats) -> bool:
    """Whether arrows at these points stay in the picture."""
    left, top, right, bottom = view.frame
    room = ARROW_ROOM * view.q
    p = view.to_px(points_mm)
    return bool((p >= (left + room, top + room)).all() and (p <= (right - room, bottom - room)).all())
