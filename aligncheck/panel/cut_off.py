"""Whether the panel goes on beyond the edge of the picture."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.drawing import leads
from aligncheck.panel.outlines import pool_steps
from aligncheck.panel.pattern import LinePixels, line_pixels
from aligncheck.panel.quads import quads_from
from aligncheck.panel.segments import Lines
from aligncheck.panel.small import SmallView
from aligncheck.panel.wheel import LINE_SHARE, Wheel

Floats = NDArray[np.float64]

#: How far (share of the long side) a cut-off corner may lie outside, and how far to count as outside (px).
FARTHEST, OUTSIDE_PX = 0.6, 4.0
#: The sides that do show must be clear, and alike.
CLEAR, ALIKE = 0.5, 0.6
#: The drawing's centre lies in the middle of the panel, to this share of its diagonal.
OFF_MIDDLE = 0.05
#: The rim of the picture (pixels of the view): so many drawn pixels there, of which so much agrees with the drawing.
#: Grain and other things agree by chance, 0 on average.
RIM_PX, LEAST_RIM_PIXELS, RIM_PATTERN = 14, 40, 0.45


def is_cut_off(lines: Lines, view: SmallView, width_mm: float, height_mm: float, wheel: Wheel | None) -> bool:
    """Whether clear sides about a drawing imply corners outside, or the drawing itself leaves the picture."""
    if not wheel or not leads(wheel):
        return False
    return _leaves(wheel, view) or corners_beyond(lines, view, width_mm, height_mm, wheel) is not None


def corners_beyond(lines: Lines, view: SmallView, width_mm: float, height_mm: float, wheel: Wheel) -> Floats | None:
    """Corners (4, 2), in pixels of the view, of the clearest outline about a drawing that leaves the picture."""
    quads = quads_from(lines, view, width_mm, height_mm, FARTHEST * max(view.width, view.height))
    if len(quads.corners) == 0:
        return None
    limit = np.array([view.width, view.height]) - 0.5
    beyond = np.maximum(-quads.corners, quads.corners - limit).max((1, 2)) > OUTSIDE_PX
    strength = pool_steps(quads, lines, view)
    size = np.linalg.norm(strength, axis=-1)
    alike = np.linalg.norm((strength / np.maximum(size, 0.15)[..., None]).mean(1), axis=-1)
    good = beyond & (size.min(1) > CLEAR) & (alike > ALIKE)
    middle = crossings(quads.corners)
    diagonal = np.linalg.norm(quads.corners[:, 2] - quads.corners[:, 0], axis=1)
    centre = np.array([wheel.centre.real, wheel.centre.imag])
    good &= np.linalg.norm(middle - centre, axis=1) < OFF_MIDDLE * diagonal
    if not good.any():
        return None
    return np.asarray(quads.corners[int(np.argmax(np.where(good, size.min(1), -np.inf)))], float)


def crossings(corners: Floats) -> Floats:
    """Where the diagonals of quadrilaterals (m, 4, 2) cross: (m, 2)."""
    points = np.concatenate([corners, np.ones((*corners.shape[:2], 1))], -1)
    cross = np.cross(np.cross(points[:, 0], points[:, 2]), np.cross(points[:, 1], points[:, 3]))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(cross[:, :2] / cross[:, 2:], float)


def _leaves(wheel: Wheel, view: SmallView) -> bool:
    """Whether the drawing goes on to the edge of the picture: its lines still run to or round its centre there.

    Its outer end as a circle would not tell: diagonals reach into the corners of a panel that is well inside.
    """
    return any(_agrees_at_edge(wheel, pixels, view) for pixels in line_pixels(view.luminance, LINE_SHARE, 3))


def _agrees_at_edge(wheel: Wheel, pixels: LinePixels, view: SmallView) -> bool:
    x, y = pixels.points.real, pixels.points.imag
    margin = np.minimum.reduce([x, y, view.width - 1 - x, view.height - 1 - y])
    rim = pixels.taken(margin < RIM_PX)
    if len(rim) < LEAST_RIM_PIXELS:
        return False
    step = np.sqrt(rim.along)
    back, front = (wheel.to_plane(rim.points + sign * step, view) for sign in (-1, 1))
    place, way = (back + front) / 2, (front - back) ** 2
    ray = place * place
    turned = way * ray.conj()
    agreement = ((turned / np.maximum(np.abs(turned), 1e-12)) ** 2).real
    within = np.abs(place) < wheel.radius
    return bool(within.sum() >= LEAST_RIM_PIXELS and agreement[within].mean() > RIM_PATTERN)
