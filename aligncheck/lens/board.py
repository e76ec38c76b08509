"""The printed board: a chessboard with a numbered marker in every white square, so that any part of it will do."""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

#: Squares across and down; every paper size carries the same board, only larger or smaller.
COLUMNS, ROWS = 10, 6
#: Side of a marker in squares: large enough to be read from afar, small enough to leave the corners clear.
MARKER_SHARE = 0.7
#: A printed 4 x 4 pattern stays readable at some 15 px a marker, and fifty are plenty for 30 white squares.
DICTIONARY = cv2.aruco.DICT_4X4_50
#: Modules across one marker, black border included.
MARKER_MODULES = 6


@dataclass(frozen=True)
class Paper:
    """A sheet, landscape: its size and the side of a board square on it, all in mm."""

    name: str
    width_mm: float
    height_mm: float
    square_mm: float


#: ISO 216 and the North American letter. The squares leave 14 mm at the sides (no printer needs more) and room for
#: ruler and words below.
PAPERS = {
    "a4": Paper("A4", 297.0, 210.0, 26.0),
    "a3": Paper("A3", 420.0, 297.0, 38.0),
    "letter": Paper("letter", 279.4, 215.9, 24.5),
}


def charuco_board() -> Any:
    """The board as OpenCV knows it, in units of one square."""
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    return cv2.aruco.CharucoBoard((COLUMNS, ROWS), 1.0, MARKER_SHARE, dictionary)


def black_modules() -> NDArray[np.float64]:
    """Black rectangles of the board (n, 4): left, top, width, height in squares, origin at its top-left corner."""
    square = [(x, y, 1.0, 1.0) for y in range(ROWS) for x in range(COLUMNS) if (x + y) % 2 == 0]
    board, module = charuco_board(), MARKER_SHARE / MARKER_MODULES
    dictionary = board.getDictionary()
    bits = []
    for marker, corners in zip(board.getIds().ravel(), board.getObjPoints(), strict=True):
        left, top = np.asarray(corners, float)[:, :2].min(0)
        pattern = cv2.aruco.generateImageMarker(dictionary, int(marker), MARKER_MODULES, borderBits=1)
        bits += _runs(np.asarray(pattern) < 128, left, top, module)
    return np.array(square + bits, float)


def _runs(black: NDArray[np.bool_], left: float, top: float, module: float) -> list[tuple[float, float, float, float]]:
    """Each row's runs of black modules as one rectangle: fewer hairline gaps between neighbours."""
    found = []
    for y, row in enumerate(black):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
        for a, b in edges.reshape(-1, 2):
            found.append((left + a * module, top + y * module, (b - a) * module, module))
    return found
