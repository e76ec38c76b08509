"""A camera of known place and lens, and its view of planes that lie parallel to the panel.

World frame: (x, -y, z) of the panel frame, z towards the viewer, so that it is right-handed; camera frame: right,
down, forward. Photo pixels: centre of the top-left pixel is (0, 0). Kept apart from the package's own lens and panel
code, so that one checks the other.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Camera:
    """Pinhole with radial bend: x (1 + k1 r^2 + k2 r^4), r in units of the focal length."""

    width_px: int
    height_px: int
    f_px: float
    cx: float
    cy: float
    k1: float
    k2: float
    rotation: Floats
    position_mm: Floats  # panel frame: x right, y down, z towards the viewer

    @cached_property
    def _position_world(self) -> Floats:
        return self.position_mm * (1, -1, 1)

    def project(self, points_mm: ArrayLike) -> Floats:
        """Points (..., 3) of the panel frame to photo pixels (..., 2)."""
        p = np.asarray(points_mm, float) * (1, -1, 1)
        v = (p - self._position_world) @ self.rotation.T
        n = v[..., :2] / v[..., 2:]
        r2 = (n * n).sum(-1, keepdims=True)
        return n * (1 + r2 * (self.k1 + r2 * self.k2)) * self.f_px + (self.cx, self.cy)

    def project_plane(self, points_mm: ArrayLike, z_mm: float = 0.0) -> Floats:
        """Points (..., 2) on the plane at height `z_mm` to photo pixels."""
        p = np.asarray(points_mm, float)
        return self.project(np.concatenate([p, np.full((*p.shape[:-1], 1), z_mm)], axis=-1))

    def plane_points(self, pixels: ArrayLike, z_mm: float = 0.0) -> Floats:
        """Photo pixels (..., 2) to the points (..., 2) that they show on the plane at height `z_mm`."""
        n = self._unbend((np.asarray(pixels, float) - (self.cx, self.cy)) / self.f_px)
        r = self.rotation
        to_camera = np.column_stack([r[:, 0], -r[:, 1], r @ (np.array([0, 0, z_mm]) - self._position_world)])
        h = np.linalg.inv(to_camera)
        q = n @ h[:, :2].T + h[:, 2]
        return q[..., :2] / q[..., 2:]

    def _unbend(self, bent: Floats) -> Floats:
        """Undo the bend by repeated substitution; converges because phone lenses bend by a few percent only."""
        straight = bent.copy()
        for _ in range(25):
            r2 = (straight * straight).sum(-1, keepdims=True)
            straight = bent / (1 + r2 * (self.k1 + r2 * self.k2))
        return straight

    @property
    def f35_mm(self) -> float:
        """The 35 mm equivalent by the diagonal, as phones state it."""
        return float(self.f_px * np.hypot(36, 24) / np.hypot(self.width_px, self.height_px))

    @property
    def tilt_deg(self) -> float:
        """Angle between the line of sight and the panel's normal."""
        return float(np.degrees(np.arccos(min(1.0, -self.rotation[2, 2]))))


def stand(
    size_px: tuple[int, int],
    panel_mm: tuple[float, float],
    *,
    f35_mm: float = 26.0,
    tilt_deg: float = 10.0,
    azimuth_deg: float = 180.0,
    roll_deg: float = 0.0,
    fill: float = 0.8,
    shift: tuple[float, float] = (0.0, 0.0),
    principal_px: tuple[float, float] = (0.0, 0.0),
    k1: float = 0.0,
    k2: float = 0.0,
) -> Camera:
    """Set the camera up so that the panel takes `fill` of the picture.

    `azimuth_deg`: on which side of the panel the camera stands, clockwise from its top (180: where a painter stands).
    `roll_deg` within +-45, so that the panel's top stays uppermost. `shift`: where the panel's middle shows, in parts
    of the picture's size from its centre. `principal_px`: of the principal point from the picture's centre.
    """
    if abs(roll_deg) > 45:
        raise ValueError(f"roll_deg must be within 45 degrees, got {roll_deg}")
    width, height = size_px
    f_px = f35_mm / np.hypot(36, 24) * np.hypot(width, height)
    tilt, azimuth, roll = np.radians([tilt_deg, azimuth_deg, roll_deg])
    away = np.array([np.sin(tilt) * np.sin(azimuth), np.sin(tilt) * np.cos(azimuth), np.cos(tilt)])
    forward = -away
    right = np.array([1.0, 0, 0]) - forward[0] * forward
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    turned = np.cos(roll) * right + np.sin(roll) * down, np.cos(roll) * down - np.sin(roll) * right
    rotation = np.vstack([*turned, forward])
    w, h = panel_mm[0] / 2, panel_mm[1] / 2
    corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
    centre = ((width - 1) / 2 + principal_px[0], (height - 1) / 2 + principal_px[1])
    target = ((width - 1) / 2 + shift[0] * width, (height - 1) / 2 + shift[1] * height)
    distance, aim = 2 * max(panel_mm), np.zeros(2)
    for _ in range(30):
        position = (distance * away + (aim[0], aim[1], 0)) * (1, -1, 1)
        camera = Camera(width, height, float(f_px), *centre, k1, k2, rotation, position)
        seen = camera.project_plane(corners)
        extent = np.ptp(seen, axis=0) / (width, height)
        middle = (seen.max(0) + seen.min(0)) / 2
        distance *= float(extent.max()) / fill
        # Move the camera over the table by what still misses, in mm.
        off = (rotation[0] * (middle - target)[0] + rotation[1] * (middle - target)[1]) * distance / f_px
        aim += off[:2] * 0.9
    return camera
