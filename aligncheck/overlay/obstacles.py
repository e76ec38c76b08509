"""What no plate may cover, on a grid that can be asked about many boxes at once."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay.view import Box

Floats = NDArray[np.float64]

#: Cells in a q.
CELLS = 2.0
FREE, SOLID = 0, 1


class Obstacles:
    """Filled polygons, each with the number of its owner."""

    def __init__(self, frame: Box, q: float):
        self.frame, self.q = frame, q
        self._per_px = CELLS / q
        left, top, right, bottom = frame
        size = (int(np.ceil((bottom - top) * self._per_px)) + 1, int(np.ceil((right - left) * self._per_px)) + 1)
        self._grid = np.zeros(size, np.int16)
        self._sums: NDArray[np.int32] | None = None
        self._last_owner = SOLID

    def new_owner(self) -> int:
        """A number for something that only its own leader may cross."""
        self._last_owner += 1
        return self._last_owner

    def add(self, polygon: Floats, owner: int = SOLID, rim_q: float = 0.0) -> None:
        """Add a filled polygon (n, 2) in pixels, with a rim around it."""
        cells = np.round(self._cells(polygon)).astype(np.int32)
        cv2.fillPoly(self._grid, [cells], owner)
        cv2.polylines(self._grid, [cells], True, owner, max(1, round(2 * CELLS * rim_q)))
        self._sums = None

    def add_box(self, box: Box) -> None:
        """Add a box (left, top, right, bottom)."""
        left, top, right, bottom = box
        self.add(np.array([[left, top], [right, top], [right, bottom], [left, bottom]]))

    def free(self, boxes: Floats) -> NDArray[np.bool_]:
        """Which of `boxes` (n, 4) touch no obstacle; cells cut by a box count as covered by it."""
        if self._sums is None:
            self._sums = np.asarray(cv2.integral((self._grid > 0).astype(np.uint8)), np.int32)
        cells = self._cells(boxes.reshape(-1, 2)).reshape(-1, 4)
        height, width = self._grid.shape
        x0, x1 = (np.clip(np.floor(cells[:, k]).astype(int) + k // 2, 0, width) for k in (0, 2))
        y0, y1 = (np.clip(np.floor(cells[:, k]).astype(int) + k // 2, 0, height) for k in (1, 3))
        s = self._sums
        return np.asarray(s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0] == 0)

    def owners(self, points: Floats) -> NDArray[np.int16]:
        """Who owns the ground at `points` (..., 2)."""
        cells = np.round(self._cells(points)).astype(int)
        height, width = self._grid.shape
        return self._grid[np.clip(cells[..., 1], 0, height - 1), np.clip(cells[..., 0], 0, width - 1)]

    def _cells(self, points: Floats) -> Floats:
        return (points - np.array(self.frame[:2])) * self._per_px
