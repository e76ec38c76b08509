"""Clear glass on the panel: each sight line is bent at its top, so that what lies below is seen beside its place."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, Floats
from tests.render.scene import Light, linear
from tests.render.tiles import Image

#: Index of refraction of window glass, and what one of its faces mirrors when looked at straight (Fresnel).
INDEX = 1.52
STRAIGHT = ((INDEX - 1) / (INDEX + 1)) ** 2
#: Scale of the map of a piece's height, px per mm, and levels at which a sight line is asked whether it has entered.
SCALE, LEVELS = 12.0, 40
#: The lamp's image: cosine of half its angle, and how many times as bright as white paper it is.
LAMP_COS, LAMP = 0.985, 6.0

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Glass:
    """A piece of clear glass with a flat base on the panel and the plan `outline_mm` (closed).

    Its top rises from the rim over `rise_mm` to `top_mm`: a short rise is a plate with a rounded edge, one as long as
    half its width a dome. `tint`: what 10 mm of it leave of white light. `room`: how bright what it mirrors is.
    """

    outline_mm: tuple[tuple[float, float], ...]
    top_mm: float
    rise_mm: float = 1.5
    tint: str = "#f4fbf6"
    room: float = 0.5


@dataclass(frozen=True)
class Sight:
    """Sight lines (h, w) where they meet the top of a piece: where, which way, the top's normal, whether they do."""

    at_mm: Floats
    along: Floats
    normal: Floats
    on: Bools

    @property
    def cosine(self) -> Floats:
        """Of the angle to the normal."""
        return np.asarray(np.clip(-(self.along * self.normal).sum(-1), 0.02, 1))

    @property
    def bent(self) -> Floats:
        """Direction within the glass (Snell)."""
        cosine = self.cosine
        inner = np.sqrt(1 - (1 - cosine**2) / INDEX**2)
        return self.along / INDEX + (cosine / INDEX - inner)[..., None] * self.normal

    @property
    def turned(self) -> Floats:
        """Direction of what is mirrored."""
        return self.along + 2 * self.cosine[..., None] * self.normal


def disc(centre_mm: tuple[float, float], radius_mm: float) -> tuple[tuple[float, float], ...]:
    """The outline of a round piece."""
    a = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    xy = np.asarray(centre_mm) + radius_mm * np.stack([np.sin(a), -np.cos(a)], axis=-1)
    return tuple(map(tuple, xy.tolist()))


def lay_glass(light: Image, camera: Camera, lamp: Light, pieces: tuple[Glass, ...]) -> None:
    """Put glass on the finished picture `light` (h, w, 3, linear) in place."""
    for piece in pieces:
        _shade(light, camera, lamp, piece)
    for piece in pieces:
        _lay(light, camera, lamp, piece)


def sight_lines(foot_mm: Floats, camera: Camera, piece: Glass) -> Sight:
    """Where sight lines that would meet the panel at `foot_mm` (h, w, 2) enter a piece."""
    height, low = _height_map(piece)
    eye = camera.position_mm
    lean = (eye[:2] - foot_mm) / eye[2]
    z, on = np.zeros(foot_mm.shape[:2]), _sample(height, foot_mm, low) > 0
    entered = np.zeros_like(on)
    for level in np.linspace(piece.top_mm, 0, LEVELS):
        top = _sample(height, foot_mm + lean * level, low)
        new = (top >= level) & (top > 0) & ~entered
        z[new] = level
        entered |= new
    at = np.concatenate([foot_mm + lean * z[..., None], z[..., None]], axis=-1)
    gradients = (cv2.Sobel(height, cv2.CV_32F, *axis, scale=SCALE / 8) for axis in ((1, 0), (0, 1)))
    normal = np.stack([*(-_sample(g, at[..., :2], low) for g in gradients), np.ones_like(z)], axis=-1)
    along = at - eye
    return Sight(at, along / _length(along), normal / _length(normal), entered | on)


def base_points(sight: Sight) -> Floats:
    """Points (h, w, 2) of the panel that are seen through the glass."""
    path = sight.at_mm[..., 2] / np.maximum(-sight.bent[..., 2], 0.05)
    return np.asarray(sight.at_mm[..., :2] + sight.bent[..., :2] * path[..., None])


def _lay(light: Image, camera: Camera, lamp: Light, piece: Glass) -> None:
    """Draw one piece in place."""
    outline = np.asarray(piece.outline_mm)
    rim = np.concatenate([camera.project_plane(outline, z) for z in (0.0, piece.top_mm)])
    (x0, y0), (x1, y1) = np.floor(rim.min(0)).astype(int) - 2, np.ceil(rim.max(0)).astype(int) + 3
    part = np.s_[max(y0, 0) : min(y1, camera.height_px), max(x0, 0) : min(x1, camera.width_px)]
    ys, xs = np.mgrid[part]
    sight = sight_lines(camera.plane_points(np.stack([xs, ys], axis=-1).astype(float)), camera, piece)
    at = camera.project_plane(base_points(sight)).astype(np.float32)
    below = cv2.remap(light, at[..., 0], at[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    # Light passes the glass twice, down to the panel and up again.
    kept = linear(piece.tint) ** (2 * sight.at_mm[..., 2:] / np.maximum(-sight.bent[..., 2:], 0.05) / 10)
    mirrored = (STRAIGHT + (1 - STRAIGHT) * (1 - sight.cosine) ** 5)[..., None]
    # Beyond the critical angle the base mirrors the piece's own far side: as dim as the room through it.
    leaves = (INDEX * np.hypot(sight.bent[..., 0], sight.bent[..., 1]) < 1)[..., None]
    through = np.where(leaves, below * kept * (1 - mirrored) ** 2 * (1 - STRAIGHT) ** 2, 0.5 * piece.room * kept)
    # The room is brighter above than at its sides; the base mirrors it once more.
    room = piece.room * (0.4 + 0.6 * np.clip(sight.turned[..., 2:], 0, 1))
    shine = (mirrored + STRAIGHT * leaves) * room + mirrored * LAMP * _lamp(sight, lamp)
    cover = cv2.GaussianBlur(sight.on.astype(np.float32), (0, 0), 0.5)[..., None]
    light[part] += cover * (np.asarray(through + shine, np.float32) - light[part])


def _lamp(sight: Sight, lamp: Light) -> Floats:
    """How much of the lamp's image (h, w, 1) is mirrored."""
    to_lamp = np.asarray(lamp.at_mm, float) - sight.at_mm
    facing = (sight.turned * to_lamp).sum(-1, keepdims=True) / _length(to_lamp)
    return np.asarray(np.clip((facing - LAMP_COS) / (1 - LAMP_COS) * 3, 0, 1))


def _shade(light: Image, camera: Camera, lamp: Light, piece: Glass) -> None:
    """Glass throws a thin shadow, its rim, which sends the light elsewhere, a deeper one."""
    at, outline = np.asarray(lamp.at_mm, float), np.asarray(piece.outline_mm)
    thrown = outline - 0.5 * piece.top_mm * at[:2] / at[2]
    middle = thrown.mean(0)
    inner = middle + (thrown - middle) * (1 - min(piece.rise_mm, 4.0) / np.hypot(*(thrown - middle).T).mean())
    step = camera.project_plane([(0.0, 0.0), (1.0, 0.0)])
    sd = max(1.0, 0.12 * piece.top_mm * float(np.hypot(*(step[1] - step[0]))))
    whole, inside = (_soft_mask(light.shape[:2], camera.project_plane(shape), sd) for shape in (thrown, inner))
    light *= (1 - np.float32(1 - lamp.ambient) * (0.12 * inside + 0.4 * (whole - inside)))[..., None]


def _soft_mask(shape: tuple[int, int], outline_px: Floats, sd: float) -> Image:
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.round(outline_px * 256).astype(np.int32)], 255, cv2.LINE_AA, 8)
    return np.asarray(cv2.GaussianBlur(mask, (0, 0), sd), np.float32) / 255


def _height_map(piece: Glass) -> tuple[Image, Floats]:
    """Height of the top (h, w) over the plan, and the map's corner in mm."""
    outline = np.asarray(piece.outline_mm)
    low = outline.min(0) - 2
    size = np.ceil((outline.max(0) + 2 - low) * SCALE).astype(int)
    mask = np.zeros((size[1], size[0]), np.uint8)
    cv2.fillPoly(mask, [np.round((outline - low) * SCALE * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    depth = cv2.distanceTransform(mask, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) / np.float32(SCALE)
    short = 1 - np.clip(depth / np.float32(piece.rise_mm), 0, 1)
    return cv2.GaussianBlur(np.float32(piece.top_mm) * np.sqrt(1 - short**2), (0, 0), 0.15 * SCALE) * mask, low


def _sample(field: Image, points: Floats, low: Floats) -> Floats:
    at = ((points - low) * SCALE).astype(np.float32)
    return np.asarray(cv2.remap(field, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT), float)


def _length(vectors: Floats) -> Floats:
    return np.asarray(np.linalg.norm(vectors, axis=-1, keepdims=True))
