"""Lay grainy, broken strokes along paths into a coverage map of the panel's face."""

from dataclasses import dataclass
from statistics import NormalDist

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from tests.render.noise import smooth

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Stick:
    """How the chalk or pencil lays: see `Drawing`."""

    cover: float
    ragged: float
    lift_mm: float
    grain: NDArray[np.float32]  # sd 1, the size of the face map


@dataclass(frozen=True)
class FaceFrame:
    """Where panel mm lie in the face map: pixel = (mm - corner) * px_per_mm - 0.5, of a map of `shape`."""

    corner_mm: tuple[float, float]
    px_per_mm: float
    shape: tuple[int, int]

    def to_px(self, points_mm: Floats) -> Floats:
        return (points_mm - self.corner_mm) * self.px_per_mm - 0.5

    def to_mm(self, pixels: Floats) -> Floats:
        return (pixels + 0.5) / self.px_per_mm + self.corner_mm


def pixels_near(frame: FaceFrame, path: Floats, reach_mm: float) -> NDArray[np.intp]:
    """Rows and columns (n, 2) of the map's pixels within about `reach_mm` of `path`."""
    points = frame.to_px(path)
    pad = int(reach_mm * frame.px_per_mm) + 3
    low = np.maximum(np.floor(points.min(0)).astype(int) - pad, 0)
    high = np.minimum(np.ceil(points.max(0)).astype(int) + pad, (frame.shape[1] - 1, frame.shape[0] - 1))
    if (high <= low).any():
        return np.zeros((0, 2), np.intp)
    mask = np.zeros((high[1] - low[1] + 1, high[0] - low[0] + 1), np.uint8)
    thick = 2 * int(np.ceil(reach_mm * frame.px_per_mm)) + 3
    cv2.polylines(mask, [np.round(points - low).astype(np.int32)], False, 255, thick)
    return np.argwhere(mask) + low[::-1]


def across_and_along(path: Floats, points: Floats) -> tuple[Floats, Floats, Floats]:
    """Signed distance across `path`, distance along it, and how far beyond its ends each point (n, 2) lies, all mm."""
    step = np.hypot(*np.diff(path, axis=0).T)
    s = np.concatenate([[0.0], np.cumsum(step)])
    tangent = np.gradient(path, s, axis=0)
    tangent /= np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
    near = cKDTree(path).query(points)[1]
    off = points - path[near]
    ahead = (off * tangent[near]).sum(1)
    across = off[:, 1] * tangent[near, 0] - off[:, 0] * tangent[near, 1]
    along = s[near] + ahead
    return across, along, np.maximum(-along, along - s[-1])


def lay(
    cover: NDArray[np.float32],
    frame: FaceFrame,
    path: Floats,
    width_mm: float,
    stick: Stick,
    rng: np.random.Generator,
    gaps_mm: tuple[tuple[float, float], ...] = (),
    strength: float = 1.0,
) -> None:
    """Add a stroke of `width_mm` along `path` (n, 2) to the map `cover` in place; `gaps_mm` from the path's start."""
    spots = pixels_near(frame, path, width_mm * 0.8 + 0.3)
    if len(spots) == 0:
        return
    across, along, beyond = across_and_along(path, frame.to_mm(spots[:, ::-1].astype(float)))
    length = float(np.hypot(*np.diff(path, axis=0).T).sum())
    rim = _along_noise(rng, length, 0.7) * stick.ragged, _along_noise(rng, length, 0.7) * stick.ragged
    half = width_mm / 2 * (1 + np.where(across > 0, _at(rim[0], along), _at(rim[1], along)))
    ppm = frame.px_per_mm
    inside = np.clip((half - np.abs(across)) * ppm + 0.5, 0, 1) * np.clip(-beyond * ppm + 0.5, 0, 1)
    pressure = _threshold(stick.cover) + 0.35 * _at(_along_noise(rng, length, 9.0), along)
    # The hand presses less at the rim of a stroke.
    pressure -= 0.5 * (np.abs(across) / half) ** 4
    closed = np.hypot(*(path[-1] - path[0])) < 1e-6
    if stick.lift_mm > 0 and not closed:
        # The hand sets down and lifts over some tenths of a millimetre: chalk thins before it ends.
        pressure -= 2.0 * np.exp(-np.maximum(-beyond, 0) / stick.lift_mm)
    deposit = np.clip((pressure - stick.grain[spots[:, 0], spots[:, 1]]) * 1.8 + 0.5, 0, 1)
    for start, end in gaps_mm:
        inside *= np.clip(np.maximum(start - along, along - end) * ppm + 0.5, 0, 1)
    laid = (inside * deposit * strength).astype(np.float32)
    where = spots[:, 0], spots[:, 1]
    cover[where] = np.maximum(cover[where], laid)


def _threshold(cover: float) -> float:
    """Level under which a share `cover` of normal noise lies; solid paint at 1."""

    return 5.0 if cover >= 0.995 else NormalDist().inv_cdf(cover)


def _along_noise(rng: np.random.Generator, length_mm: float, scale_mm: float) -> NDArray[np.float32]:
    """Noise along a path, four samples a mm."""
    return smooth(rng, (4, int(length_mm * 4) + 8), scale_mm * 4)[0]


def _at(noise: NDArray[np.float32], along_mm: Floats) -> NDArray[np.float32]:
    return noise[np.clip(along_mm * 4, 0, len(noise) - 1).astype(int)]
