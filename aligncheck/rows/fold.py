"""All segments laid on one another: what repeats stands out, what is drawn once fades."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import ChalkMap

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Steps of the folded map, mm: half of what a hand strays.
STEP_MM = 0.5
#: Nearer the centre too many lines meet.
INNERMOST_MM = 8.0
#: Two petals a segment lie beside the spokes, so many half segments from one.
BESIDE = (0.5, 1.5)
#: The map beside an axis reaches from this far across it, mm, to so many half segments from it.
ACROSS_MM, REACH = -3.0, 1.25


@dataclass(frozen=True)
class Sector:
    """Mean tensor of all segments, mirrored too, beside one axis: a spoke, or the ray halfway between two.

    Attributes
    ----------
    tensor : ndarray (along, across, 4), float32
        Components uu, uv, vv, u across (to the clockwise side), v outward along the axis, less the mean over the whole
        circle, so that chance gives zero; and how much can be seen there.
    between : float
        Where the axis lies, in halves of a segment from a spoke: 0 on it, 1 halfway to the next.
    half_rad : float
        Half a segment.
    """

    tensor: Singles
    between: float
    half_rad: float

    @property
    def outermost_mm(self) -> float:
        """Largest distance along the axis."""
        return INNERMOST_MM + STEP_MM * (len(self.tensor) - 1)

    def to_map(self, u: Singles, v: Singles) -> tuple[Singles, Singles]:
        """Column and row of points u across, v along."""
        column = (u - np.float32(ACROSS_MM)) * np.float32(1 / STEP_MM)
        return column, (v - np.float32(INNERMOST_MM)) * np.float32(1 / STEP_MM)

    def evidence(self, u: Singles, v: Singles, normal_u: Singles, normal_v: Singles) -> tuple[Singles, Singles]:
        """Evidence (n, m) for strokes at points u across, v along, with unit normals, and what of it can be seen."""
        uu, uv, vv, seen = cv2.split(cv2.remap(self.tensor, *self.to_map(u, v), cv2.INTER_LINEAR))
        found = normal_u * (normal_u * uu + 2 * normal_v * uv) + normal_v**2 * vv
        return np.asarray(found, np.float32), np.asarray(seen, np.float32)


def fold(chalk: ChalkMap, centre_mm: Floats, segments: int, rotation_deg: float, outermost_mm: float) -> list[Sector]:
    """Lay all segments about `centre_mm` on one another, and each on its mirror image: beside spokes, and between."""
    half = np.pi / segments
    rays = np.radians(rotation_deg) + 2 * half * np.arange(segments)
    mean, radii = _mirrored_mean(chalk, centre_mm, rays, half, outermost_mm)
    return [_sector(mean, radii, half, between, between) for between in (False, True)]


def fold_some(chalk: ChalkMap, centre_mm: Floats, rays_rad: Floats, half_rad: float, between: float,
              outermost_mm: float) -> Sector:  # fmt: skip
    """Lay only the segments about the rays on one another, each also on its mirror image; `between`: what rays are."""
    mean, radii = _mirrored_mean(chalk, centre_mm, rays_rad, half_rad, outermost_mm)
    return _sector(mean, radii, half_rad, between, False)


def fold_beside(
    chalk: ChalkMap, centre_mm: Floats, segments: int, rotation_deg: float, outermost_mm: float
) -> list[Sector]:
    """Lay all segments on one another, and on their mirror images, about the rays a quarter of a segment off spokes."""
    half = np.pi / segments
    rays = [np.radians(rotation_deg) + half * (2 * np.arange(segments) + beside) for beside in BESIDE]
    return [fold_some(chalk, centre_mm, r, half, b, outermost_mm) for r, b in zip(rays, BESIDE, strict=True)]


def _mirrored_mean(
    chalk: ChalkMap, centre_mm: Floats, rays: Floats, half: float, outermost_mm: float
) -> tuple[Singles, Floats]:
    """Mean tensor of the segments about `rays` and of their mirror images, less the mean over the circle; and radii."""
    radii = np.arange(INNERMOST_MM, outermost_mm, STEP_MM)
    per_half = int(np.clip(np.ceil(outermost_mm * half / STEP_MM), 12, 200))
    mean = _mean_segment(chalk, centre_mm, rays, half, radii, per_half)
    # The mirror image of column i (angle i - per_half) is column 2 per_half - i; turned over, rt changes its sign.
    mirrored = np.roll(mean[:, ::-1], 1, axis=1) * np.array([1, -1, 1, 1], np.float32)
    mean = np.asarray((mean + mirrored) / 2, np.float32)
    clutter = (mean[..., 0] + mean[..., 2]).mean(1, keepdims=True) / 2
    mean[..., 0] -= clutter
    mean[..., 2] -= clutter
    return mean, radii


def _mean_segment(
    chalk: ChalkMap, centre_mm: Floats, rays: Floats, half: float, radii: Floats, per_half: int
) -> Singles:
    """Mean tensor rr, rt, tt (t clockwise) and what is seen: (radii, angles, 4).

    Angles run from half a segment before a ray to half a segment past it.
    """
    within = np.arange(-per_half, per_half) * (half / per_half)
    angles = (rays[:, None] + within).ravel()
    out = np.stack([np.sin(angles), -np.cos(angles)], -1)
    xx, xy, yy, seen = np.moveaxis(chalk.sample(centre_mm + radii[:, None, None] * out), -1, 0)
    s, c = np.sin(angles).astype(np.float32), np.cos(angles).astype(np.float32)
    # Outward is (s, -c), clockwise is (c, s).
    rr = s * s * xx - 2 * s * c * xy + c * c * yy
    tt = c * c * xx + 2 * s * c * xy + s * s * yy
    rt = s * c * xx + (s * s - c * c) * xy - s * c * yy
    return np.stack([part.reshape(len(radii), len(rays), -1).mean(1) for part in (rr, rt, tt, seen)], -1).astype(
        np.float32
    )


def _sector(mean: Singles, radii: Floats, half: float, between: float, shifted: bool) -> Sector:
    """The mean segment on a straight grid beside an axis: its middle, or its end if `shifted`."""
    per_half = mean.shape[1] // 2
    width = radii[-1] * np.sin(min(REACH * half, np.pi / 2))
    u, v = np.meshgrid(np.arange(ACROSS_MM, width, STEP_MM), radii)
    angle = np.arctan2(u, v)
    column = (angle / half + shifted) * per_half + per_half
    # Whole periods on both sides, so that no lookup leaves the map.
    wide = np.concatenate([mean, mean, mean[:, : per_half + 1]], axis=1)
    column = np.mod(column, 2 * per_half)
    row = (np.hypot(u, v) - INNERMOST_MM) / STEP_MM
    rr, rt, tt, seen = cv2.split(cv2.remap(wide, column.astype(np.float32), row.astype(np.float32), cv2.INTER_LINEAR))
    s, c = np.sin(angle), np.cos(angle)
    # Outward is (s, c) in (u, v), clockwise is (c, -s).
    uu = s * s * rr + 2 * s * c * rt + c * c * tt
    vv = c * c * rr - 2 * s * c * rt + s * s * tt
    uv = s * c * rr + (c * c - s * s) * rt - s * c * tt
    return Sector(np.dstack([uu, uv, vv, seen]).astype(np.float32), between, half)
