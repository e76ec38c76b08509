"""Where the visible edge of a panel lies against its true side, because real edges are rounded and faces are deep."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.panel.kind import DEEP_MM
from aligncheck.panel.panel import Panel

Floats = NDArray[np.float64]

#: Radius of the rounding (and its spread), mm: boards and cards with a broken arris; canvas wrapped around a bar.
THIN_RADIUS_MM = (0.12, 0.06)
DEEP_RADIUS_MM = (0.35, 0.15)
#: Thickness unknown: mostly boards, some canvases.
ANY_RADIUS_MM = (0.15, 0.14)
#: Where a bright panel's arris turns away from a lamp the light is gone before the sight line is: with the lamp at an
#: elevation e, half of it at 1 - sin(e / 2) radii inside the true edge, 0.78 to 0.46 for 25 to 65 degrees, and about
#: 0.3 under an open sky; with its spread from side to side.
SHADED, SHADED_SD = 0.5, 0.2
#: A seen side face narrower than this, mm, merges with the front in half of the cases.
MERGED_FACE_MM = 1.0
#: Where a dark panel's side is seen edge-on, the seam of shadow at its foot goes on where the panel ends: spread, mm. A
#: panel that leans over its seam hides it, from this slant on wholly; a side face seen at more than the last one parts
#: the two.
SEAM_MM, SEAM_HIDDEN_SLANT, EDGE_ON = 0.15, -0.03, 0.1
#: Thickness of the boards that this was seen on, mm.
THIN_MM = 3.0
#: Thickness unknown: boards of 3 mm mostly, one canvas in five or six of 19 to 38, and half of the dark ones merge: the
#: spread that this leaves per seen slant, mm, and at most (wider faces are seen for what they are).
ANY_MERGED_MM, MOST_MERGED_MM = 6.0, 0.5
#: The same for a canvas of unknown thickness.
DEEP_MERGED_MM = 13.0


class Rounding(NamedTuple):
    """How the four sides (top, right, bottom, left) are seen.

    Attributes
    ----------
    slant : ndarray (4,)
        Tangent of the angle between sight line and the panel's normal across each side; positive where the side face
        is seen, negative where the face hides it.
    shift_mm : ndarray (4,)
        Of the visible edge from the true side, outward positive (mostly negative).
    per_radius : ndarray (4,)
        How much the shift grows with the radius, mm per mm.
    radius_sd_mm : float
        How unsure the radius is; it is one radius for all four sides.
    shade_sd_mm : ndarray (4,)
        How unsure the shift of each side is by itself, because the light that falls on its arris is not known.
    merged_sd_mm : ndarray (4,)
        How unsure each side is because its side face, where it is seen, may be taken for a part of the front.
    """

    slant: Floats
    shift_mm: Floats
    per_radius: Floats
    radius_sd_mm: float
    shade_sd_mm: Floats
    merged_sd_mm: Floats


def rounding(panel: Panel, depth_mm: float | None, outshines: ArrayLike = 0.0, deep: bool | None = None) -> Rounding:
    """Geometry of the rounded edges for the camera's place that `panel` implies.

    Where the thickness is not known, `deep` says of what kind of panel: a board, or a canvas; None of any.
    `outshines` (4,), 0 to 1, tells how far the face is brighter than what lies outside a side.

    A hidden side ends where the sight line touches the rounding, an arc of radius q about a point q inside and q
    below the true edge: with T the tangent of the sight line's slant, at q (sqrt(1 + T^2) - 1 - T) on the panel's
    plane. Where the side face is seen the shade changes in the middle of the arc, at -0.29 q (1 - T). That is where
    a dark panel's edge shows; a bright one's shows where its light ends, if that is further in.
    """
    x, y, z = panel.camera_position_mm
    w, h = panel.width_mm / 2, panel.height_mm / 2
    slant = np.array([-y - h, x - w, y - h, -x - w]) / z
    hidden = np.maximum(-slant, 0)
    per_radius = np.where(slant < 0, np.sqrt(1 + hidden**2) - 1 - hidden, -0.29 * (1 - np.clip(slant, 0, 1)))
    shaded = np.broadcast_to(np.asarray(outshines, float), (4,))
    per_radius = per_radius + shaded * (np.minimum(per_radius, -SHADED) - per_radius)
    if depth_mm is None and deep is False:
        depth_mm = THIN_MM
    radius, sd = _radius(depth_mm, deep)
    merged = _merged_sd(slant, depth_mm, shaded, DEEP_MERGED_MM if deep else ANY_MERGED_MM)
    return Rounding(slant, radius * per_radius, per_radius, sd, SHADED_SD * radius * shaded, merged)


def _radius(depth_mm: float | None, deep: bool | None) -> tuple[float, float]:
    """Of the rounding, and its spread, mm."""
    if depth_mm is None:
        return DEEP_RADIUS_MM if deep else ANY_RADIUS_MM
    radius, sd = DEEP_RADIUS_MM if depth_mm >= DEEP_MM else THIN_RADIUS_MM
    return min(radius, depth_mm), sd


def _merged_sd(slant: Floats, depth_mm: float | None, outshines: Floats, unknown_mm: float) -> Floats:
    """Spread (4,) in mm: a dark side face before a brighter ground looks like the front's continuation.

    `unknown_mm`: of a panel whose thickness is not known, for each seen slant.
    """
    seen, dark = np.maximum(slant, 0), 1 - outshines
    seam = SEAM_MM * dark * np.clip(1 - slant / SEAM_HIDDEN_SLANT, 0, 1) * (seen < EDGE_ON)
    if depth_mm is None:
        return np.hypot(np.minimum(unknown_mm * seen, MOST_MERGED_MM) * dark, seam)
    # A seam is about as wide as the panel is thick.
    seam = seam * min(depth_mm / THIN_MM, 1.0)
    return np.where(seen * depth_mm < MERGED_FACE_MM, np.hypot(0.5 * seen * depth_mm, seam), 0.0)


def px_per_mm_across(panel: Panel) -> Floats:
    """Photo pixels per mm across the middle of each side (4,)."""
    w, h = panel.width_mm / 2, panel.height_mm / 2
    middles = np.array([[0, -h], [w, 0], [0, h], [-w, 0]])
    outward = np.array([[0, -1.0], [1, 0], [0, 1], [-1, 0]])
    step = panel.to_photo(middles + 0.5 * outward) - panel.to_photo(middles - 0.5 * outward)
    along = panel.to_photo(middles + 0.5 * outward[:, ::-1]) - panel.to_photo(middles - 0.5 * outward[:, ::-1])
    area = np.abs(step[:, 0] * along[:, 1] - step[:, 1] * along[:, 0])
    return np.asarray(area / np.linalg.norm(along, axis=1), float)
