"""Paths: lines drawn outward from the centre, each with what it bends away from its straight start line."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Each row is the mean of this many sub-rows, so that it hardly depends on where it meets the grain of the chalk.
SUB_ROWS = 4


class Paths(NamedTuple):
    """S paths on one common grid of R distances.

    Attributes
    ----------
    centre_mm : ndarray (2,)
    angle_deg : ndarray (S,)
        Bearing of each start line.
    miss_mm : ndarray (S,)
        How far the start line passes clockwise of the centre.
    along_mm : ndarray (R,)
        Evenly rising distances along the lines from the point nearest to the centre.
    bend_mm : ndarray (S, R)
        How far the path lies clockwise of its start line.
    """

    centre_mm: Floats
    angle_deg: Floats
    miss_mm: Floats
    along_mm: Floats
    bend_mm: Floats

    @classmethod
    def straight(cls, centre_mm: ArrayLike, angle_deg: ArrayLike, miss_mm: ArrayLike, along_mm: ArrayLike) -> "Paths":
        """Paths that do not bend."""
        angle, along = np.atleast_1d(np.asarray(angle_deg, float)), np.asarray(along_mm, float)
        miss = np.broadcast_to(np.asarray(miss_mm, float), angle.shape)
        return cls(np.asarray(centre_mm, float), angle, miss, along, np.zeros((len(angle), len(along))))

    @property
    def step_mm(self) -> float:
        """Distance between rows."""
        return float(self.along_mm[1] - self.along_mm[0])

    def points(self, place: int, along_mm: ArrayLike) -> Floats:
        """Panel points (..., 2) on one start line at distances `along_mm` (...), without the bend."""
        start = self.centre_mm + self.miss_mm[place] * clockwise(self.angle_deg[place])
        return np.asarray(start + np.asarray(along_mm, float)[..., None] * outward(self.angle_deg[place]), float)

    def bent(self, bend_mm: Floats) -> "Paths":
        """The same start lines with another bend."""
        return self._replace(bend_mm=bend_mm)

    def offsets_of(self, start_mm: ArrayLike, end_mm: ArrayLike) -> Floats:
        """Where the straight line through two points crosses every row: (S, R), clockwise of the start line.

        Rows that run the line's own way are nan.
        """
        a, b = np.asarray(start_mm, float), np.asarray(end_mm, float)
        normal = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
        along, across = outward(self.angle_deg), clockwise(self.angle_deg)
        # (foot + t along + o across - a) . normal = 0, solved for o.
        level = (self.centre_mm - a) @ normal + self.miss_mm[:, None] * (across @ normal)[:, None]
        slope = np.where(np.abs(across @ normal) > 1e-3, across @ normal, np.nan)
        return -(level + self.along_mm * (along @ normal)[:, None]) / slope[:, None]

    def sample(
        self,
        pixels: NDArray[np.uint8],
        panel: Panel,
        offsets_mm: Floats,
        wanted: Bools | None = None,
        stretch: Floats | None = None,
        sub_rows: int = SUB_ROWS,
        mixture: tuple[float, float, float] | None = None,
    ) -> Floats:
        """Grey values (S, R, len(offsets)) across the paths; rows not `wanted` (S, R) are nan.

        `stretch` (S,) scales the offsets of each path, for strokes of unequal width. `mixture` weighs the channels
        where `pixels` is in colour.
        """
        keep = np.ones(self.bend_mm.shape, bool) if wanted is None else wanted
        values = np.full((*keep.shape, len(offsets_mm)), np.nan, np.float32)
        points, normals = self._rows(keep, stretch, sub_rows)
        rows = sample_rows(pixels, panel, points, normals, offsets_mm)
        if mixture is not None:
            rows = rows @ np.asarray(mixture, np.float32)
        values[keep] = rows.reshape(-1, sub_rows, len(offsets_mm)).mean(1)
        return values

    def sample_colour(
        self, rgb: NDArray[np.uint8], panel: Panel, offsets_mm: Floats, wanted: Bools, sub_rows: int = SUB_ROWS
    ) -> Floats:
        """Colours (n, len(offsets), 3) of the n `wanted` rows."""
        points, normals = self._rows(wanted, None, sub_rows)
        rows = sample_rows(rgb, panel, points, normals, offsets_mm)
        return np.asarray(rows.reshape(-1, sub_rows, len(offsets_mm), 3).mean(1), float)

    def _rows(self, keep: Bools, stretch: Floats | None, sub_rows: int) -> tuple[Floats, Floats]:
        """Points (n sub_rows, 2) and normals of the n rows to `keep` (S, R)."""
        s, r = np.nonzero(keep)
        shift = (np.arange(sub_rows) - (sub_rows - 1) / 2) / sub_rows * self.step_mm
        slope = np.gradient(self.bend_mm, self.along_mm, axis=1)[s, r]
        across, along = clockwise(self.angle_deg), outward(self.angle_deg)
        t = self.along_mm[r][:, None] + shift
        bend = self.miss_mm[s][:, None] + self.bend_mm[s, r][:, None] + slope[:, None] * shift
        points = self.centre_mm + t[..., None] * along[s][:, None] + bend[..., None] * across[s][:, None]
        normals = across if stretch is None else across * stretch[:, None]
        return points.reshape(-1, 2), np.repeat(normals[s], sub_rows, axis=0)
