"""A tray frame around the panel: floor, inner walls and top bar in true perspective."""

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, Floats
from tests.render.scene import Panel, Tray, linear
from tests.render.tiles import Image

#: The bar is drawn as layers this far apart, mm.
STEP_MM = 0.5
#: A wall sees half of the sky, the floor of the gap hardly any of it.
WALL, FLOOR = 0.55, 0.2


def under_tray(camera: Camera, panel: Panel, tray: Tray) -> list[tuple[NDArray[np.uint8], Image]]:
    """What of a tray lies lower than the panel's face, which hides it: masks (h, w) and their light, to lay in turn."""
    colour = linear(tray.colour)
    inner, outer = _bar(panel, tray)
    floor = _between(camera, inner, np.zeros((0, 2)), -panel.depth_mm)
    walls = np.zeros_like(floor)
    for z in np.arange(-panel.depth_mm, 0, STEP_MM):
        np.maximum(walls, _between(camera, inner, outer, float(z)), out=walls)
    return [(floor, colour * np.float32(FLOOR)), (walls, colour * np.float32(WALL))]


def lay_tray(light: Image, camera: Camera, panel: Panel, tray: Tray) -> None:
    """Draw what of a tray stands higher than the face on the finished picture `light` (h, w, 3, linear) in place."""
    colour = linear(tray.colour)
    inner, outer = _bar(panel, tray)
    for z in np.arange(0, tray.top_mm, STEP_MM):
        _mix(light, _between(camera, inner, outer, float(z)), colour * np.float32(WALL))
    _mix(light, _between(camera, inner, outer, tray.top_mm), colour)


def _bar(panel: Panel, tray: Tray) -> tuple[Floats, Floats]:
    """Inner and outer corners (4, 2) of the bar."""
    return _around(panel, tray.gap_mm), _around(panel, tray.gap_mm + tray.width_mm)


def _around(panel: Panel, gap_mm: float) -> Floats:
    """Corners (4, 2) of the rectangle `gap_mm` outside the panel."""
    return panel.corners_mm + gap_mm * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])


def _between(camera: Camera, inner: Floats, outer: Floats, z_mm: float) -> np.ndarray:
    """Mask (h, w), 0 to 255, of what lies between two rectangles at the height `z_mm`."""
    mask = np.zeros((camera.height_px, camera.width_px), np.uint8)
    rings = [_sixteenths(camera.project_plane(points, z_mm)) for points in (outer, inner) if len(points)]
    return np.asarray(cv2.fillPoly(mask, rings, 255, cv2.LINE_AA, 4))


def _sixteenths(pixels: Floats) -> np.ndarray:
    return np.round(pixels * 16).astype(np.int32)


def _mix(light: Image, mask: np.ndarray, colour: Image) -> None:
    light += (mask.astype(np.float32) / 255)[..., None] * (colour - light)
