"""How far the piece reaches, which ring it stays inside, where the first row may start."""

from typing import NamedTuple

import numpy as np

from aligncheck.centrepiece.centrepiece import SegmentReach
from aligncheck.centrepiece.plan import plan_of
from aligncheck.centrepiece.window import Floats
from aligncheck.drift import Drift
from aligncheck.geometry.angles import bearing

#: Heights of an outer edge that are usual: paper, wood, glass and fabric shapes up to 15 mm high, lower at their edge.
USUAL_HEIGHTS_MM = (0.0, 12.0)
#: 95 % half-width of the outline itself, mm, at a tip.
OUTLINE_U95_MM = 0.5
#: Share of the range between the lowest and the highest edge that holds 95 % of it, all heights alike likely.
RANGE_SHARE = 0.95
#: Steps between the two heights.
HEIGHTS = 13


class Reach(NamedTuple):
    """A greatest distance with its 95 % half-width and where it lies."""

    mm: float
    u95_mm: float
    deg: float


def seen_reach(points_mm: Floats, drift: Drift, own_u95_mm: float) -> Reach:
    """The greatest reach of points as seen."""
    centre = np.array(drift.centre_mm)
    radius = np.hypot(*(points_mm - centre).T)
    k = int(radius.argmax())
    u95 = float(np.hypot(own_u95_mm, drift.centre_u95_mm))
    return Reach(float(radius[k]), u95, float(bearing(points_mm[k] - centre)))


def true_reach(points_mm: Floats, drift: Drift, heights_mm: tuple[float, float], own_u95_mm: float) -> Reach:
    """The greatest reach of the plan, its edge anywhere between two heights."""
    low, high = reach_range(points_mm, drift, heights_mm)
    centre = np.array(drift.centre_mm)
    plan = plan_of(points_mm, drift.marks.panel.camera_position_mm, sum(heights_mm) / 2)
    k = int(np.hypot(*(plan - centre).T).argmax())
    sharp = float(np.hypot(own_u95_mm, drift.centre_u95_mm))
    return Reach((low + high) / 2, RANGE_SHARE * (high - low) / 2 + sharp, float(bearing(plan[k] - centre)))


def reach_range(points_mm: Floats, drift: Drift, heights_mm: tuple[float, float]) -> tuple[float, float]:
    """Least and greatest reach, every point of the outline at any height in between.

    On the camera's side an upright edge shows its foot, on the other its top: one height for all would not do.
    """
    centre, camera = np.array(drift.centre_mm), drift.marks.panel.camera_position_mm
    count = HEIGHTS if heights_mm[0] < heights_mm[1] else 1
    radii = np.array([np.hypot(*(plan_of(points_mm, camera, h) - centre).T) for h in np.linspace(*heights_mm, count)])
    return float(radii.min(0).max()), float(radii.max())


def segment_reaches(
    points_mm: Floats, drift: Drift, heights_mm: tuple[float, float], own_u95_mm: float
) -> tuple[SegmentReach, ...]:
    """The greatest reach in each segment, clockwise from the first ideal spoke after 12 o'clock."""
    count, rotation = drift.marks.segments, drift.rotation_deg
    if not count or rotation is None:
        return ()
    centre, camera = np.array(drift.centre_mm), drift.marks.panel.camera_position_mm
    middle = plan_of(points_mm, camera, sum(heights_mm) / 2)
    place = np.floor((bearing(middle - centre) - rotation) % 360.0 / (360.0 / count)).astype(int) % count
    found = []
    for k in range(count):
        own = points_mm[place == k]
        if len(own):
            reach = true_reach(own, drift, heights_mm, own_u95_mm)
            found.append(SegmentReach((rotation + 360.0 * k / count) % 360.0, reach.mm, reach.u95_mm))
    return tuple(found)


class RingFit(NamedTuple):
    """The ring that contains the reach, how much room is left, and the ring that is too close to say.

    `past`: the outermost ring, where it goes past all.
    """

    ring: int | None = None
    near: int | None = None
    spare_mm: float | None = None
    past: int | None = None


def ring_fit(reach: Reach, drift: Drift) -> RingFit:
    """The smallest ring, as drawn, that contains the reach.

    None where none does, where a ring's radius lies within the reach's interval, or where a ring in between that the
    spacing asks for was not seen and might contain it.
    """
    radii = {r.number: r.radius_mm for r in drift.rings}
    if not radii:
        return RingFit()
    if drift.ring_pitch_mm:
        # Rings hidden under the piece, or not seen, stand where the spacing puts them.
        hidden = set(range(1, max(radii))) - set(radii)
        radii |= {k: k * drift.ring_pitch_mm for k in hidden}
    close = [k for k, r in sorted(radii.items()) if abs(r - reach.mm) <= reach.u95_mm]
    if close:
        nearest = min(close, key=lambda k: abs(radii[k] - reach.mm))
        return RingFit(near=nearest)
    around = [k for k, r in sorted(radii.items(), key=lambda kr: kr[1]) if r >= reach.mm]
    if not around:
        return RingFit(past=max(radii, key=lambda k: radii[k]))
    if around[0] not in {r.number for r in drift.rings}:
        return RingFit()
    return RingFit(around[0], spare_mm=radii[around[0]] - reach.mm)
