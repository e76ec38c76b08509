"""The inner corners of a plain chessboard of any number of squares, and nothing but them."""

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

#: OpenCV's sector-based finder grows a board from a small start, so the number of squares need not be known. How far it
#: grows depends on these: the exhaustive search goes furthest, and now and then one row too far.
GROW = (
    cv2.CALIB_CB_LARGER | cv2.CALIB_CB_EXHAUSTIVE,
    cv2.CALIB_CB_LARGER | cv2.CALIB_CB_EXHAUSTIVE | cv2.CALIB_CB_NORMALIZE_IMAGE,
    cv2.CALIB_CB_LARGER,
)
#: The older finder's usual ways.
OLDER = cv2.CALIB_CB_ADAPTIVE_THRESH | cv2.CALIB_CB_NORMALIZE_IMAGE | cv2.CALIB_CB_FAST_CHECK
#: The four squares round a real corner are dark and light in turn. At the outer corners of the outermost squares three
#: of four are blank, so their contrast is half of the next row's; midway lies the border.
ROW_CONTRAST = 0.75
#: Single corners may lie in a shadow or a shine: a third of the usual contrast is a corner still.
CORNER_CONTRAST = 1 / 3
#: Codes; below, there is nothing to see.
LEAST_CONTRAST = 3.0
#: Fewer rows or columns are no board.
LEAST_ROWS = 3


def best_grid(grey: Bytes, squares: tuple[int, int] | None) -> Floats | None:
    """Inner corners (rows, columns, 2) of the largest chessboard in `grey`, or of one of so many `squares`."""
    if squares is not None:
        return _given(grey, squares)
    best: Floats | None = None
    for flags in GROW:
        found, corners, meta = cv2.findChessboardCornersSBWithMeta(grey, (3, 3), flags)
        if not found:
            continue
        grown = np.asarray(corners, float).reshape(*np.asarray(meta).shape, 2)
        grid = real_part(grey, grown)
        if grid is not None and grid.shape == grown.shape:
            return grid
        if grid is not None and (best is None or grid.size > best.size):
            best = grid
    return best


def _given(grey: Bytes, squares: tuple[int, int]) -> Floats | None:
    """The board of so many squares, by the sector-based finder, else by the older one, which bears stronger bends."""
    for across, down in (squares, squares[::-1]):
        pattern = (across - 1, down - 1)
        found, corners = cv2.findChessboardCornersSB(grey, pattern, flags=cv2.CALIB_CB_EXHAUSTIVE)
        if not found:
            found, corners = cv2.findChessboardCorners(grey, pattern, flags=OLDER)
        grid = np.asarray(corners, float).reshape(down - 1, across - 1, 2) if found else None
        # All or nothing: a board of another size than the painter says is another board.
        if grid is not None and (real := real_part(grey, grid)) is not None and real.shape == grid.shape:
            return grid
    return None


def real_part(grey: Bytes, grid: Floats) -> Floats | None:
    """The grid without border rows and columns that are no board's; None where too little is left."""
    while min(grid.shape[:2]) >= LEAST_ROWS:
        contrast = _contrast(grey, grid)
        if np.median(contrast) <= LEAST_CONTRAST:
            return None
        # Nothing has a contrast of exactly zero but a picture without any.
        rows, columns = (np.median(contrast, axis=k) + 1e-6 for k in (1, 0))
        weak = [
            (rows[0] / rows[1], np.s_[1:, :]),
            (rows[-1] / rows[-2], np.s_[:-1, :]),
            (columns[0] / columns[1], np.s_[:, 1:]),
            (columns[-1] / columns[-2], np.s_[:, :-1]),
        ]
        ratio, rest = min(weak, key=lambda pair: pair[0])
        if ratio >= ROW_CONTRAST:
            usual = float(np.median(contrast))
            return grid if contrast.min() > CORNER_CONTRAST * usual else None
        grid = grid[rest]
    return None


def _contrast(grey: Bytes, grid: Floats) -> Floats:
    """Dark against light across each corner (rows, columns), positive where the squares take turns."""
    across, down = np.gradient(grid, axis=1), np.gradient(grid, axis=0)
    quarters = np.stack([grid + a * 0.3 * across + b * 0.3 * down for a, b in ((1, 1), (-1, -1), (1, -1), (-1, 1))])
    flat = quarters.astype(np.float32).reshape(4, -1, 2)
    codes = cv2.remap(grey, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR).astype(float).reshape(quarters.shape[:3])
    parity = 1 - 2 * (np.indices(grid.shape[:2]).sum(0) % 2)
    contrast = (codes[:2].mean(0) - codes[2:].mean(0)) * parity
    return np.asarray(contrast * np.sign(np.median(contrast)), float)
