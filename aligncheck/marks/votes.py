"""Votes of single strong pixels: are the strokes light or dark, and about which point does the layout turn?"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile
from aligncheck.strokes import Ridges

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Share of the pixels that are taken for strokes: a layout of thin lines covers a few hundredths of a panel.
STRONG_SHARE = 0.015
#: Nearest this share of the shorter side to the panel's edge nothing votes: the edge itself is a strong line there.
BORDER = 0.025
VOTERS = 2400
#: Reach of the median that tells the bare panel: several strokes of any width.
GROUND_MM = 15.0
#: Every second pixel each way is looked at; strokes are wider.
STEP = 2
#: The first search tries a lattice of this pitch, as a share of the shorter side, with this many voters.
LATTICE, LATTICE_VOTERS = 0.015, 800
#: How far the layout's centre may lie from the panel's, as a share of the shorter side.
OFF_CENTRE = 0.14


def light_share(ridges: Ridges, picture: NDArray[np.uint8]) -> float:
    """How much of the strongest tail of the `ridges` of a small flat view `picture` (h, w) is light, 0 to 1.

    Chalk is sharper than anything else on a panel.
    """
    larger, smaller = ridges.eigenvalues(STEP)
    above = _above_ground(picture, ridges.px_per_mm)[: larger.shape[0], : larger.shape[1]]
    # Beside a broad light stroke the panel is a valley, but no darker than it is elsewhere.
    light = _inner((larger - np.maximum(smaller, 0)) * (above > 0))
    dark = _inner((-smaller - np.maximum(-larger, 0)) * (above < 0))

    def weight(tail: NDArray[np.float32]) -> float:
        # The cut keeps a few glints or dust grains from outweighing all lines.
        v = np.clip(tail, 0, _quantile(tail, 0.995))
        return float((v * v * v).mean(dtype=float))

    return weight(light) / max(weight(light) + weight(dark), 1e-9)


def _above_ground(picture: NDArray[np.uint8], px_per_mm: float) -> NDArray[np.int16]:
    """How far every `STEP`-th pixel lies above the panel about it: the median, as strokes cover less than half."""
    size = ((picture.shape[1] + STEP - 1) // STEP, (picture.shape[0] + STEP - 1) // STEP)
    fine = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    coarse = cv2.resize(fine, (max(size[0] // 2, 1), max(size[1] // 2, 1)), interpolation=cv2.INTER_AREA)
    wide = 2 * max(1, round(GROUND_MM * px_per_mm / (2 * STEP))) + 1
    ground = cv2.resize(cv2.medianBlur(coarse, wide), size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(fine.astype(np.int16) - ground, np.int16)


def _inner(picture: NDArray[np.float32]) -> NDArray[np.float32]:
    edge = max(1, round(BORDER * min(picture.shape)))
    return picture[edge:-edge, edge:-edge]


def _quantile(picture: NDArray[np.float32], share: float) -> float:
    """Of every fourth pixel: they are many, and neighbours are alike."""
    return float(quantile(picture[::2, ::2].ravel(), share, alike=True))


def strong_pixels(ridges: Ridges) -> tuple[Floats, Floats, Floats]:
    """Positions (n, 2) in mm, unit normals (n, 2) across the stroke and strengths (n,) of the strongest pixels."""
    larger, smaller = ridges.eigenvalues(STEP)
    line = larger - np.maximum(smaller, 0)
    inner = _inner(line)
    rows, cols = np.nonzero(inner > _quantile(inner, 1 - STRONG_SHARE))
    edge = (line.shape[0] - inner.shape[0]) // 2
    # A fixed shuffle: the same photo must give the same answer.
    pick = np.random.default_rng(0).permutation(len(rows))[:VOTERS]
    rows, cols = rows[pick] + edge, cols[pick] + edge
    strengths = line[rows, cols].astype(float)
    rows, cols = rows * STEP, cols * STEP
    points = (np.column_stack([cols, rows]) - ridges.origin_px) / ridges.px_per_mm
    angle = 0.5 * np.arctan2(2 * ridges.xy[rows, cols], ridges.xx[rows, cols] - ridges.yy[rows, cols])
    normals = np.column_stack([np.cos(angle), np.sin(angle)])
    return points, normals, np.minimum(strengths, median(strengths) * 2 if len(strengths) else 1.0)


def vote_centre(ridges: Ridges, short_side_mm: float) -> Floats:
    """The point (2,) in mm that most strokes point at or run around; good to 1 % of the panel."""
    points, normals, weights = strong_pixels(ridges)
    if len(points) < 50:
        return np.zeros(2)
    reach, step = OFF_CENTRE * short_side_mm, LATTICE * short_side_mm
    axis = np.arange(-reach, reach + step / 2, step)
    lattice = np.stack(np.meshgrid(axis, axis), -1).reshape(-1, 2)
    few = slice(0, LATTICE_VOTERS)
    across, along = _misses(points[few], normals[few], lattice)
    gate = 2.5 * LATTICE * short_side_mm
    # Lines through the point count whole and circles round it half: straight lines anywhere have circles' normals too.
    votes = (_bell(across, gate) + 0.5 * _bell(along, gate)) @ weights[few].astype(np.float32)
    centre = lattice[int(np.argmax(votes))]
    return _sharpen(points, normals, weights, centre, short_side_mm)


def _bell(x: Singles, gate: float) -> Singles:
    """1 at zero, smoothly down to nothing at the gate and beyond."""
    rest = np.maximum(1 - (x * np.float32(1 / gate)) ** 2, 0).astype(np.float32)
    return rest * rest


def _misses(points: Floats, normals: Floats, centres: Floats) -> tuple[Singles, Singles]:
    """How far each pixel's tangent and normal pass each centre: two arrays (centres, pixels) in mm."""
    tangents = np.column_stack([-normals[:, 1], normals[:, 0]])
    across = (points * normals).sum(1)[None] - centres @ normals.T
    along = (points * tangents).sum(1)[None] - centres @ tangents.T
    return across.astype(np.float32), along.astype(np.float32)


def _sharpen(points: Floats, normals: Floats, weights: Floats, centre: Floats, short_side_mm: float) -> Floats:
    """Least squares over the pixels whose tangent passes near, with a gate that narrows."""
    for share in (0.012, 0.008, 0.005, 0.005):
        gate = share * short_side_mm
        miss = ((points - centre) * normals).sum(1)
        w = weights * np.exp(-0.5 * (miss / gate) ** 2)
        normal_matrix = (normals * w[:, None]).T @ normals + 1e-9 * np.eye(2)
        centre = centre + np.linalg.solve(normal_matrix, (normals * (w * miss)[:, None]).sum(0))
    return centre
