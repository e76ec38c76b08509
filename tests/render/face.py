"""Paint the panel's face: paint and surface, then chalk, petals and dots, as linear reflectance at high resolution."""

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.chalk import FaceFrame, Stick, lay
from tests.render.drawing import Dot, Drawing, Petal, Ring, Spoke, straight
from tests.render.noise import smooth, streaks
from tests.render.scene import Panel, linear

#: Paint beyond the sides, so that sampling at the very edge never meets the map's end.
MARGIN_MM = 2.0


def paint_face(
    panel: Panel, drawing: Drawing, px_per_mm: float, rng: np.random.Generator
) -> tuple[NDArray[np.float32], FaceFrame]:
    """Reflectance (h, w, 3) of the face, and where it lies."""
    reach = np.abs(panel.corners_mm).max(0) + MARGIN_MM
    width, height = (int(np.ceil(2 * r * px_per_mm)) for r in reach)
    frame = FaceFrame((-width / px_per_mm / 2, -height / px_per_mm / 2), px_per_mm, (height, width))
    face = _surface(panel, frame, rng)[..., None] * (
        linear(panel.colour) if panel.printed is None else _print(panel, frame)
    )
    for ground in drawing.grounds:
        _dot(face, frame, ground)
    cover = _strokes(drawing, frame, rng)
    chalk = linear(drawing.colour)
    face += cover[..., None] * (chalk - face)
    for dot in drawing.dots:
        if dot.shadow:
            _shadow(face, frame, dot)
        _dot(face, frame, dot)
    return face, frame


def _print(panel: Panel, frame: FaceFrame) -> NDArray[np.float32]:
    """The printed picture, each of its pixels averaged into the map."""
    assert panel.printed is not None
    codes = panel.printed / np.float32(255)
    light = np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4).astype(np.float32)
    h, w = light.shape[:2]
    # From the map's pixels to the picture's, whose first pixel's centre lies half a pixel inside the face.
    scale = np.array([w / panel.width_mm, h / panel.height_mm])
    shift = (np.asarray(frame.corner_mm) + (panel.width_mm / 2, panel.height_mm / 2)) * scale
    step = scale / frame.px_per_mm
    matrix = np.array([[step[0], 0, shift[0] + step[0] / 2 - 0.5], [0, step[1], shift[1] + step[1] / 2 - 0.5]])
    if step.max() > 1:
        light = cv2.GaussianBlur(light, (0, 0), 0.35 * float(step.max()))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(light, matrix, frame.shape[::-1], flags=flags, borderMode=cv2.BORDER_REPLICATE))


def _surface(panel: Panel, frame: FaceFrame, rng: np.random.Generator) -> NDArray[np.float32]:
    """Relative brightness of the bare surface, mean 1."""
    ppm, shape = frame.px_per_mm, frame.shape
    relief = 0.35 * smooth(rng, shape, 25 * ppm) + 0.2 * smooth(rng, shape, max(0.25 * ppm, 1.0))
    if panel.surface == "weave":
        # Threads 0.55 mm apart, as in painters' canvas, each a little uneven.
        u = (np.arange(shape[1]) / ppm * 2 * np.pi / 0.55).astype(np.float32)
        v = (np.arange(shape[0]) / ppm * 2 * np.pi / 0.55).astype(np.float32)
        relief += 0.5 * (np.sin(u)[None, :] + np.sin(v)[:, None])
    elif panel.surface == "wood":
        relief += 0.9 * streaks(rng, shape, 60 * ppm, 0.9 * ppm)
    return np.clip(1 + panel.surface_strength * relief, 0.3, 2.5)


def _strokes(drawing: Drawing, frame: FaceFrame, rng: np.random.Generator) -> NDArray[np.float32]:
    """Share of each pixel that chalk covers."""
    ppm = frame.px_per_mm
    grain = smooth(rng, frame.shape, drawing.grain_mm * ppm)
    stick = Stick(drawing.cover, drawing.ragged, drawing.lift_mm, grain)
    wiped = np.zeros(frame.shape, np.float32)
    for ghost in drawing.ghosts:
        _lay_mark(wiped, frame, ghost, stick, rng)
    if drawing.ghosts:
        wiped = (
            cv2.GaussianBlur(wiped, (0, 0), 1.1 * ppm)
            * 0.22
            * np.clip(1 + 0.5 * smooth(rng, frame.shape, 9 * ppm), 0, 2)
        )
    cover = np.zeros(frame.shape, np.float32)
    for mark in (*drawing.rings, *drawing.spokes):
        _lay_mark(cover, frame, mark, stick, rng)
    for line in (*drawing.centre_cross, *drawing.diagonals, *drawing.strays, *drawing.borders):
        lay(cover, frame, straight(*line), drawing.line_mm, stick, rng)
    for petal in drawing.petals:
        _lay_mark(cover, frame, petal, stick, rng)
    return np.maximum(cover, wiped)


def _lay_mark(
    cover: NDArray[np.float32], frame: FaceFrame, mark: Spoke | Ring | Petal, stick: Stick, rng: np.random.Generator
) -> None:
    if isinstance(mark, Ring):
        # Gaps are angles; along the path they are arcs. One over 12 o'clock is split.
        arcs = []
        for start, end in mark.gaps_deg:
            a, b = start % 360, start % 360 + (end - start)
            arcs += [(a, b), (a - 360, b - 360)]
        gaps = tuple((np.radians(a) * mark.radius_mm, np.radians(b) * mark.radius_mm) for a, b in arcs)
        lay(cover, frame, mark.path(), mark.width_mm, stick, rng, gaps)
        return
    gaps = mark.gaps if isinstance(mark, Spoke) else ()
    for number, path in enumerate(mark.paths()):
        lay(cover, frame, path, mark.width_mm, stick, rng, gaps if number == 0 else ())


def _dot(face: NDArray[np.float32], frame: FaceFrame, dot: Dot) -> None:
    """A dome of paint, lit from the upper left, with one highlight; or a flat circle."""
    patch, u, v = _about(face, frame, dot)
    r = np.hypot(u, v)
    inside = np.clip((1 - r) * dot.diameter_mm / 2 * frame.px_per_mm + 0.5, 0, 1)
    # A dome flatter than a ball: slopes reach 40 degrees at its rim; the light falls from (-0.4, -0.5).
    shade = np.ones_like(r) if dot.flat else np.clip(1 - 0.35 * (u * 0.4 + v * 0.5) - 0.15 * r**4, 0.2, 1.6)
    glint = (0.0 if dot.flat else dot.shine) * _mirrored(dot, u, v)
    # Metal paint mirrors in its own colour, all other paint in the lamp's.
    mirrored = linear(dot.colour) if dot.shine_wide > 0.2 else np.ones(3, np.float32)
    if dot.grain:
        seed = [round(abs(x) * 1000) for x in dot.centre_mm]
        shade = shade * np.clip(
            1 + dot.grain * smooth(np.random.default_rng(seed), shade.shape, 0.08 * frame.px_per_mm), 0, 4
        )
    colour = shade[..., None] * linear(dot.colour) + glint[..., None] * mirrored
    patch += (inside[..., None] * (colour - patch)).astype(np.float32)


def _mirrored(dot: Dot, u: NDArray[np.float64], v: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much of the lamp (0 to 1) a dome shows at each place, in radii from its middle."""
    spot = np.exp(-((u + 0.3) ** 2 + (v + 0.36) ** 2) / (2 * dot.shine_wide**2))
    if dot.lamps == "two":
        return spot + 0.7 * np.exp(-((u - 0.38) ** 2 + (v + 0.2) ** 2) / (2 * dot.shine_wide**2))
    if dot.lamps == "window":
        # Four panes, blurred as little as the dome is rough.
        across, down = (np.abs(w) for w in (u + 0.28, v + 0.32))
        pane = np.clip((0.24 - across) / 0.03, 0, 1) * np.clip((0.3 - down) / 0.03, 0, 1)
        return pane * np.clip((np.minimum(across, down) - 0.02) / 0.02, 0, 1)
    return spot


def _shadow(face: NDArray[np.float32], frame: FaceFrame, dot: Dot) -> None:
    """What a dome leaves of the light beside it, away from the lamp."""
    patch, u, v = _about(face, frame, dot, beyond=1.6)
    away = np.hypot(u - 0.2, v - 0.25)
    patch *= (1 - dot.shadow * np.clip((1.15 - away) / 0.25, 0, 1))[..., None].astype(np.float32)


def _about(
    face: NDArray[np.float32], frame: FaceFrame, dot: Dot, beyond: float = 1.0
) -> tuple[NDArray[np.float32], NDArray[np.float64], NDArray[np.float64]]:
    """The part of the face about a dot, and where its pixels lie from the dot's middle, in radii."""
    ppm, radius = frame.px_per_mm, dot.diameter_mm / 2
    x, y = frame.to_px(np.asarray(dot.centre_mm, float))
    reach = int(beyond * radius * ppm) + 3
    left, top = max(int(x) - reach, 0), max(int(y) - reach, 0)
    patch = face[top : int(y) + reach + 1, left : int(x) + reach + 1]
    rows, columns = np.mgrid[top : top + patch.shape[0], left : left + patch.shape[1]]
    return patch, (columns - x) / ppm / radius, (rows - y) / ppm / radius
