"""How much light falls where: a lamp or window at a place, its sheen on the panel, shadows."""

import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, Floats
from tests.render.scene import Light, Panel
from tests.render.tiles import Image, View


def irradiance(light: Light, xy: Floats, z_mm: float) -> Floats:
    """Light on a plane that faces the viewer, at points (..., 2) and height `z_mm`; 1 at the panel's middle."""
    at = np.asarray(light.at_mm, float)
    away = at[:2] - xy
    height = at[2] - z_mm
    # Cosine law and inverse squares, against the same at the middle of the panel.
    direct = height / (np.hypot(*np.moveaxis(away, -1, 0)) ** 2 + height**2) ** 1.5
    direct /= at[2] / float(at @ at) ** 1.5
    return (light.ambient + (1 - light.ambient) * direct) * _across(light, xy)


def _across(light: Light, xy: Floats) -> Floats:
    """What a soft shadow over everything leaves."""
    if light.across is None:
        return np.ones(xy.shape[:-1])
    x, y, direction, softness, depth = light.across
    a = np.radians(direction)
    inside = ((xy - (x, y)) @ np.array([np.sin(a), -np.cos(a)])) / softness
    return 1 - depth * _smoothstep(inside * 0.5 + 0.5)


def edge_light(light: Light, normal: Floats, lean: NDArray[np.floating]) -> NDArray[np.floating]:
    """Light where the surface leans from the face towards the outward `normal` (2,); 1 on the face.

    `lean`: sine of the angle, 0 on the face, 1 on the side wall. A wall sees half the sky; a rounded edge catches the
    lamp where it faces it.
    """
    at = np.asarray(light.at_mm, float)
    upright = np.sqrt(np.maximum(1 - np.square(lean), 0))
    direct = np.maximum(upright + lean * float(normal @ at[:2]) / at[2], 0)
    return light.ambient * (0.5 + 0.5 * upright) + (1 - light.ambient) * direct


def sheen(light: Light, xy: Floats) -> Floats:
    """Light that the panel's surface mirrors (linear, added), at points (..., 2)."""
    off = (xy - light.glare_at_mm) / light.glare_mm
    return light.glare * np.exp(-0.5 * (off**2).sum(-1))


def left_by_panel(light: Light, panel: Panel, view: View) -> Image:
    """Share of the light that the panel leaves to the table around it (h, w)."""
    normals, offsets = side_lines(panel)
    at = np.asarray(light.at_mm, float)
    throw = -panel.depth_mm * at[:2] / at[2]
    outside = _beyond(view, normals, offsets)
    seam = light.contact * np.exp(-np.maximum(outside, 0) / (0.6 * panel.depth_mm + 0.3))
    soft = light.penumbra * float(np.hypot(*throw)) + 0.3
    shade = _smoothstep(0.5 - _beyond(view, normals, offsets + normals @ throw) / soft)
    return np.asarray((1 - seam) * (1 - light.cast * shade), np.float32)


def side_lines(panel: Panel) -> tuple[Floats, Floats]:
    """Outward normals (4, 2) and offsets (4,) of the sides top, right, bottom, left: inside is n . p < offset."""
    corners = panel.corners_mm
    along = np.roll(corners, -1, axis=0) - corners
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    normals = np.stack([along[:, 1], -along[:, 0]], axis=-1)
    return normals, (normals * corners).sum(-1)


def facing(camera: Camera, panel: Panel) -> Floats:
    """Tangent (4,) of the angle at which each side wall is seen: positive where it shows, negative where it hides."""
    normals, offsets = side_lines(panel)
    return (normals @ camera.position_mm[:2] - offsets) / camera.position_mm[2]


def _beyond(view: View, normals: Floats, offsets: Floats) -> Image:
    """Distance outside the polygon in mm, negative inside."""
    return np.maximum.reduce(
        [
            view.xy[..., 0] * np.float32(n[0]) + view.xy[..., 1] * np.float32(n[1]) - np.float32(o)
            for n, o in zip(normals, offsets, strict=True)
        ]
    )


def _smoothstep(t: NDArray[np.floating]) -> NDArray[np.floating]:
    u = np.clip(t, 0, 1)
    return u * u * (3 - 2 * u)
