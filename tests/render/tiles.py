"""The photo in tiles: what each pixel shows of a plane, exact at every eighth pixel and linear between."""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.camera import Camera, Floats

Image = NDArray[np.float32]
STEP = 8
SIDE = 512


@dataclass(frozen=True)
class View:
    """A plane as a tile shows it: x, y in mm and mm per pixel along the photo's two axes, each (h, w, 2)."""

    xy: Image
    per_column: Image
    per_row: Image

    def distance_px(self, normal: Floats, offset_mm: float) -> Image:
        """Signed distance in pixels from the line normal . p = offset, positive where normal . p is smaller."""
        n0, n1 = np.float32(normal[0]), np.float32(normal[1])
        away = np.float32(offset_mm) - (self.xy[..., 0] * n0 + self.xy[..., 1] * n1)
        slope = np.hypot(
            self.per_column[..., 0] * n0 + self.per_column[..., 1] * n1,
            self.per_row[..., 0] * n0 + self.per_row[..., 1] * n1,
        )
        return np.asarray(away / slope, np.float32)

    @property
    def mm_per_px(self) -> Image:
        """Square root of the area that a pixel covers, in mm."""
        c, r = self.per_column, self.per_row
        return np.sqrt(np.abs(c[..., 0] * r[..., 1] - c[..., 1] * r[..., 0]))


@dataclass(frozen=True)
class Tile:
    """Rows `top` .. `bottom` and columns `left` .. `right` (last ones excluded)."""

    camera: Camera
    top: int
    bottom: int
    left: int
    right: int

    @property
    def place(self) -> tuple[slice, slice]:
        """Where it lies in the photo."""
        return slice(self.top, self.bottom), slice(self.left, self.right)

    def nodes(self, z_mm: float) -> Floats:
        """Plane points (rows, columns, 2) at the centres of 8 x 8 blocks, one block beyond each side."""
        xs = self.left + (np.arange(-1, -(-(self.right - self.left) // STEP) + 1) + 0.5) * STEP - 0.5
        ys = self.top + (np.arange(-1, -(-(self.bottom - self.top) // STEP) + 1) + 0.5) * STEP - 0.5
        return self.camera.plane_points(np.stack(np.meshgrid(xs, ys), axis=-1), z_mm)

    def spread(self, values: NDArray[np.floating]) -> Image:
        """Node values (rows, columns[, n]) to every pixel of the tile."""
        rows, columns = values.shape[:2]
        full = cv2.resize(values.astype(np.float32), (columns * STEP, rows * STEP), interpolation=cv2.INTER_LINEAR)
        return full[STEP : STEP + self.bottom - self.top, STEP : STEP + self.right - self.left]

    def view(self, nodes: Floats) -> View:
        """The plane at every pixel, from its `nodes`."""
        rows, columns = np.gradient(nodes, STEP, axis=(0, 1))
        return View(self.spread(nodes), self.spread(columns), self.spread(rows))


def tiles(camera: Camera) -> Iterator[Tile]:
    """All tiles of the photo."""
    for top in range(0, camera.height_px, SIDE):
        for left in range(0, camera.width_px, SIDE):
            yield Tile(camera, top, min(top + SIDE, camera.height_px), left, min(left + SIDE, camera.width_px))
