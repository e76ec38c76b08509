"""The panel at four corners that the painter gave."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import PanelError
from aligncheck.lens import Lens
from aligncheck.panel.outlines import clockwise
from aligncheck.panel.panel import Panel
from aligncheck.panel.sides import fit_sides
from aligncheck.panel.small import USUAL_FOCAL
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A finger or mouse sets a corner to about so many thousandths of the photo's long side (one scatter, x and y each).
HAND_SHARE = 0.001


def panel_at(
    photo: Photo,
    corners_px: Floats,
    width_mm: float,
    height_mm: float,
    lens: Lens | None,
    exact: bool,
    depth_mm: float | None,
) -> Panel:
    """The panel whose corners were given by hand in any order; refined at its sides unless `exact`.

    Raises
    ------
    PanelError
        ``corners_cross`` where the points are no corners of a panel, ``corners_outside`` where one lies outside.
    """
    corners = in_order(corners_px)
    limit = np.array([photo.width_px, photo.height_px]) - 0.5
    outside = ((corners < -0.5) | (corners > limit)).any(1)
    if outside.any():
        x, y = corners[int(np.argmax(outside))]
        raise PanelError("corners_outside", text=f"{x:g},{y:g}", width=photo.width_px, height=photo.height_px)
    if not exact:
        return fit_sides(photo, corners, width_mm, height_mm, lens, depth_mm).panel(width_mm, height_mm)
    focal = photo.focal_px_by_camera or USUAL_FOCAL * max(photo.width_px, photo.height_px)
    used = lens or Lens(focal, (photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    plain = Panel.from_corners(width_mm, height_mm, used, corners)
    scatter_mm = HAND_SHARE * max(photo.width_px, photo.height_px) / float(plain.px_per_mm())
    bend = (0.0, 0.0) if lens else (0.035**2, 0.012**2)
    covariance = np.diag([scatter_mm**2] * 8 + list(bend))
    return Panel.from_corners(width_mm, height_mm, used, corners, covariance)


def in_order(corners_px: Floats) -> Floats:
    """Corners (4, 2) in any order as top left, top right, bottom right, bottom left.

    Raises
    ------
    PanelError
        ``corners_cross`` where one point lies inside the triangle of the others, or three nearly on one line.
    """
    points = np.asarray(corners_px, float).reshape(-1, 2)
    if points.shape != (4, 2) or not np.isfinite(points).all():
        raise PanelError("corners_cross")
    from_middle = points - points.mean(0)
    points = points[np.argsort(np.arctan2(from_middle[:, 1], from_middle[:, 0]))]
    along = np.roll(points, -1, axis=0) - points
    after = np.roll(along, -1, axis=0)
    lengths = np.hypot(*along.T) * np.hypot(*after.T)
    turn = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    # Corners of a panel tilted to 44 degrees turn by 40 degrees and more; 0.2 is 12 degrees.
    if not clockwise(points) or (turn <= 0.2 * lengths).any():
        raise PanelError("corners_cross")
    top = int(np.argmin((points + np.roll(points, -1, axis=0))[:, 1]))
    return np.roll(points, -top, axis=0)
