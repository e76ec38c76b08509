"""One photo of a board: which of its corners show, and where, to a few hundredths of a pixel."""

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.lens.board import COLUMNS, ROWS, charuco_board
from aligncheck.lens.grid import best_grid
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Long sides, px, at which a chessboard is looked for: boards that fill the frame show best at the first.
SEARCH_SIZES = (1008, 2016, 640)
#: Half of the window in which a corner is refined, as a share of the smallest square: the largest that stays clear of
#: the next corner under perspective (chessboard), or of the marker beside it (own board, where 0.15 is blank).
WINDOW_SHARE, WINDOW_SHARE_OWN = 0.2, 0.13
#: Fewer corners than this do not fix a pose and leave something over to judge it by.
MIN_CORNERS = 8
#: Squares smaller than this, px, leave no window to refine a corner in.
MIN_SQUARE_PX = 15.0


@dataclass(frozen=True)
class View:
    """The corners of a board that one photo shows.

    Attributes
    ----------
    points : ndarray (n, 2)
        On the board, in squares.
    pixels : ndarray (n, 2)
        In the upright photo.
    kind : str
        "own" for the printed board of this program, "chessboard" for any other.
    extent : ndarray (2, 2)
        Smallest and largest x, y of the printed squares seen, in squares: nothing of the pattern lies outside.
    """

    points: Floats
    pixels: Floats
    kind: Literal["own", "chessboard"]
    extent: Floats

    @property
    def square_px(self) -> float:
        """Side of the smallest square between neighbouring corners."""
        gaps = np.linalg.norm(self.points[:, None] - self.points[None], axis=-1)
        pixels = np.linalg.norm(self.pixels[:, None] - self.pixels[None], axis=-1)
        return float(pixels[np.isclose(gaps, 1)].min(initial=np.inf))


def find_board(photo: Photo, squares: tuple[int, int] | None = None) -> View:
    """Find the printed board or a plain chessboard in `photo`.

    Parameters
    ----------
    squares : (int, int), optional
        Squares across and down of a plain chessboard; without it the largest chessboard of any size is taken.

    Raises
    ------
    InputError
        "board_not_found" or "board_too_small".
    """
    view = None if squares else _own_board(photo)
    view = view or _chessboard(photo, squares)
    if view is None:
        raise InputError("board_not_found")
    if view.square_px < MIN_SQUARE_PX:
        raise InputError("board_too_small", square_px=round(view.square_px))
    return view


def _reduced(grey: NDArray[np.uint8], long_side: int) -> tuple[NDArray[np.uint8], float]:
    """The picture at `long_side` px, area-averaged, and original pixels per reduced pixel; never enlarged."""
    step = max(grey.shape) / long_side
    if step <= 1:
        return grey, 1.0
    size = (round(grey.shape[1] / step), round(grey.shape[0] / step))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8), grey.shape[1] / size[0]


def _enlarge(pixels: Floats, step: float) -> Floats:
    """Reduced pixels to original ones; whole numbers are pixel centres in both."""
    return (pixels + 0.5) * step - 0.5


def _own_board(photo: Photo) -> View | None:
    detector = cv2.aruco.CharucoDetector(charuco_board())
    for long_side in (1600, 3200):
        small, step = _reduced(photo.grey, long_side)
        corners, ids, _, _ = detector.detectBoard(small)
        if ids is None or len(ids) < MIN_CORNERS:
            continue
        places = np.asarray(charuco_board().getChessboardCorners(), float)[np.asarray(ids).ravel(), :2]
        view = View(places, _enlarge(np.asarray(corners, float).reshape(-1, 2), step), "own", _own_extent())
        return _refined(photo, view, WINDOW_SHARE_OWN)
    return None


def _own_extent() -> Floats:
    return np.array([[0.0, 0.0], [COLUMNS, ROWS]])


def _chessboard(photo: Photo, squares: tuple[int, int] | None) -> View | None:
    sizes = [s for k, s in enumerate(SEARCH_SIZES) if k == 0 or s <= max(photo.grey.shape)]
    for long_side in sizes:
        small, step = _reduced(photo.grey, long_side)
        grid = best_grid(small, squares)
        if grid is not None:
            # The longer side runs across, so that a printer's stretch has one direction in all views.
            grid = np.rot90(grid) if grid.shape[0] > grid.shape[1] else grid
            rows, columns = grid.shape[:2]
            places = np.stack(np.meshgrid(np.arange(1, columns + 1), np.arange(1, rows + 1)), axis=-1)
            extent = np.array([[0.0, 0.0], [columns + 1, rows + 1]])
            pixels = _enlarge(grid.reshape(-1, 2), step)
            view = View(places.reshape(-1, 2).astype(float), pixels, "chessboard", extent)
            return _refined(photo, view, WINDOW_SHARE)
    return None


def _refined(photo: Photo, view: View, share: float) -> View:
    """Refine at full resolution, in a window as large as the squares allow: it averages noise, not neighbours."""
    half = int(np.clip(round(share * view.square_px), 2, 60))
    start = view.pixels.astype(np.float32).reshape(-1, 1, 2)
    inside = (start >= half + 2).all((1, 2)) & (
        start[:, 0] < np.array(photo.grey.shape[::-1], np.float32) - half - 2
    ).all(1)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 50, 1e-3)
    pixels = np.asarray(cv2.cornerSubPix(photo.grey, start[inside].copy(), (half, half), (-1, -1), stop), float)
    pixels = pixels.reshape(-1, 2)
    # A corner that ran away was none.
    stayed = np.linalg.norm(pixels - view.pixels[inside], axis=1) < max(half, 3)
    return View(view.points[inside][stayed], pixels[stayed], view.kind, view.extent)
