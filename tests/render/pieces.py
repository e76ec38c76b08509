"""Things with height on the panel: a centrepiece of flat layers, each seen where perspective puts it."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, Floats
from tests.render.scene import Light, linear
from tests.render.surfaces import Surface, glass_cover, on_plan, relief
from tests.render.tiles import Image, Tile

#: Layers that stand for a wall between two heights lie this far apart, in mm.
STEP_MM = 0.5


@dataclass(frozen=True)
class Piece:
    """A plate with the plan `outline_mm` (closed) from `bottom_mm` to `top_mm` above the panel's face.

    `surface`, seen at its top, is fixed to the piece: about `centre_mm`, turned by `turn_deg`; `seed` makes it its own.
    """

    outline_mm: tuple[tuple[float, float], ...]
    top_mm: float
    bottom_mm: float = 0.0
    colour: str = "#f4f1ea"
    surface: Surface = "plain"
    centre_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    seed: int = 0

    def heights(self) -> Floats:
        """Heights at which the plate is drawn, lowest first."""
        return np.linspace(self.bottom_mm, self.top_mm, max(2, int((self.top_mm - self.bottom_mm) / STEP_MM) + 1))


def flower(
    centre_mm: tuple[float, float], reach_mm: float, petals: int = 8, turn_deg: float = 0.0, height_mm: float = 2.5
) -> Piece:
    """A flower as one plate: the radius goes between 0.62 and 1 of `reach_mm`, once a petal."""
    a = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    radius = reach_mm * (0.81 + 0.19 * np.cos(petals * (a - np.radians(turn_deg))))
    outline = np.asarray(centre_mm) + radius[:, None] * np.stack([np.sin(a), -np.cos(a)], axis=-1)
    return Piece(tuple(map(tuple, outline.tolist())), height_mm, centre_mm=centre_mm, turn_deg=turn_deg)


def place_pieces(light: Image, camera: Camera, lamp: Light, pieces: tuple[Piece, ...]) -> None:
    """Draw `pieces` and their shadows on the finished picture `light` (h, w, 3, linear) in place."""
    at = np.asarray(lamp.at_mm, float)
    for piece in pieces:
        outline = np.asarray(piece.outline_mm)
        thrown = outline - piece.top_mm * at[:2] / at[2]
        shadow = _mask(camera, thrown, 0.0)
        part = _around(camera, thrown, 0.0, 12)
        soft = cv2.GaussianBlur(shadow[part], (0, 0), max(1.0, 0.15 * piece.top_mm * _scale(camera)))
        light[part] *= (1 - np.float32(0.5 * (1 - lamp.ambient)) * soft)[..., None]
    for piece in pieces:
        _lay(light, camera, piece)


def _lay(light: Image, camera: Camera, piece: Piece) -> None:
    """Draw one piece, its layers from the panel up, in place."""
    outline, colour = np.asarray(piece.outline_mm), linear(piece.colour)
    part = _around(camera, outline, piece.top_mm, 40)
    below = light[part].copy() if piece.surface == "glass" else None
    for z in piece.heights():
        cover = _mask(camera, outline, float(z))[part][..., None]
        light[part] += cover * (colour * np.float32(0.6) - light[part])
    top = _mask(camera, outline, piece.top_mm)[part]
    if below is not None:
        # Its side wall is as clear as its top: what lies below shows through all of it.
        light[part] = below
        top = glass_cover(top, _scale(camera))
    shade = np.float32(1.0)
    if piece.surface != "plain":
        tile = Tile(camera, part[0].start, part[0].stop, part[1].start, part[1].stop)
        plan = tile.spread(tile.nodes(piece.top_mm))
        shade = on_plan(relief(piece.surface, piece.seed), plan, piece.centre_mm, piece.turn_deg)[..., None]
    light[part] += top[..., None] * (colour * shade - light[part])


def seen_outline(camera: Camera, pieces: tuple[Piece, ...]) -> Floats:
    """Silhouette (n, 2) of all `pieces` together along the sight lines on the panel's face, in mm."""
    shadows = []
    for piece in pieces:
        outline = np.asarray(piece.outline_mm)
        shadows += [camera.plane_points(camera.project_plane(outline, float(z))) for z in piece.heights()]
    # The union is taken on a fine raster: 0.05 mm.
    every = np.concatenate(shadows)
    low, fine = every.min(0) - 1, 20.0
    size = np.ceil((every.max(0) + 1 - low) * fine).astype(int)
    raster = np.zeros((size[1], size[0]), np.uint8)
    for outline in shadows:
        cv2.fillPoly(raster, [np.round((outline - low) * fine).astype(np.int32)], 255)
    found, _ = cv2.findContours(raster, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(found, key=cv2.contourArea)[::4, 0], float) / fine + low


def _scale(camera: Camera) -> float:
    p = camera.project_plane([(0.0, 0.0), (1.0, 0.0)])
    return float(np.hypot(*(p[1] - p[0])))


def _mask(camera: Camera, outline: Floats, z_mm: float) -> NDArray[np.float32]:
    mask = np.zeros((camera.height_px, camera.width_px), np.uint8)
    points = np.round(camera.project_plane(outline, z_mm) * 256).astype(np.int32)
    cv2.fillPoly(mask, [points], 255, cv2.LINE_AA, 8)
    return mask.astype(np.float32) / 255


def _around(camera: Camera, outline: Floats, z_mm: float, pad: int) -> tuple[slice, slice]:
    """The part of the picture that `outline` can touch, `pad` pixels wider."""
    p = camera.project_plane(outline, z_mm)
    (x0, y0), (x1, y1) = np.floor(p.min(0)).astype(int) - pad, np.ceil(p.max(0)).astype(int) + pad
    return slice(max(y0, 0), min(y1, camera.height_px)), slice(max(x0, 0), min(x1, camera.width_px))
