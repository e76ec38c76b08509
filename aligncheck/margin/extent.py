"""How far the design goes towards each side, to a fraction of a pixel."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.margin.design import UNLIKE
from aligncheck.margin.view import MarginView

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Pieces whose first pixels lie within this of the outermost are all measured: half height decides, not the mask, mm.
WITHIN_MM = 1.5
#: How deep behind its outermost pixels a piece's own height is taken, mm; how wide.
DEEP_MM, WIDE_MM = 1.0, 1.2


def outermost(view: MarginView, mask: Bools) -> list[tuple[Floats, Floats]]:
    """For the top, right, bottom and left side: points (n, 2) in mm where pieces of the design end, outermost first.

    Each stands with how far (n,) its edge is drawn out: half the way from a fifth to four fifths of its height, mm.
    """
    found = []
    for turns in range(4):
        # Turned so that the side in question is on top; np.rot90 turns anticlockwise, so right comes up after one.
        image, inside = np.rot90(view.unlike, turns), np.rot90(mask, turns)
        places = _tops(image, inside, view.px_per_mm)
        points = _back(places[:, :2], turns, view.unlike.shape)
        found.append((view.to_panel(points), places[:, 2] / view.px_per_mm))
    return found


def _tops(image: NDArray[np.float32], mask: Bools, px_per_mm: float) -> Floats:
    """The topmost ends (n, 3) of pieces near the top: x, y at half height, and the edge's half-width, in pixels."""
    rows = np.flatnonzero(mask.any(axis=1))
    if not len(rows):
        return np.zeros((0, 3))
    strip = slice(rows[0], rows[0] + round((WITHIN_MM + DEEP_MM) * px_per_mm))
    number, labels = cv2.connectedComponents(np.ascontiguousarray(mask[strip]).astype(np.uint8), connectivity=8)
    ends = []
    for piece in range(1, number):
        ys, xs = np.nonzero(labels == piece)
        if ys.min() <= WITHIN_MM * px_per_mm:
            first = xs[ys == ys.min()]
            ends.append(_half_height(image, float(first.mean()), int(ys.min()) + rows[0], px_per_mm))
    return np.array(sorted(ends, key=lambda e: e[1]))


def _half_height(image: NDArray[np.float32], x: float, y: int, px_per_mm: float) -> tuple[float, float, float]:
    """Where, over the columns near x, the piece that begins at row y first reaches half of its own height."""
    deep, wide = round(DEEP_MM * px_per_mm), round(WIDE_MM * px_per_mm / 2)
    x0, y0 = max(0, round(x) - wide), max(0, y - deep)
    window = image[y0 : y + deep + 1, x0 : round(x) + wide + 1].astype(float)
    height = float(np.percentile(window[y - y0 :], 90))
    # Where a piece begins faintly its half height is still no less than what makes ink.
    height = min(max(height, 2 * UNLIKE), float(window.max()))
    tops = [_first_row(window, level * height) for level in (0.2, 0.5, 0.8)]
    (edge, column), spread = tops[1], abs(tops[2][0] - tops[0][0]) / 2
    return float(x0 + column), float(y0 + edge), spread


def _first_row(window: Floats, level: float) -> tuple[float, int]:
    """The topmost place, row to a fraction and column, where the window rises to a level."""
    above = window >= level
    columns = np.flatnonzero(above.any(axis=0))
    rows = above[:, columns].argmax(axis=0)
    here = window[rows, columns]
    before = window[np.maximum(rows - 1, 0), columns]
    part = np.where(rows > 0, (here - level) / np.maximum(here - before, 1e-6), 0.0)
    edges = rows - np.clip(part, 0.0, 1.0)
    best = int(edges.argmin())
    return float(edges[best]), int(columns[best])


def _back(points: Floats, turns: int, shape: tuple[int, ...]) -> Floats:
    """Points (n, 2) of the turned image, x and y, as they lie in the unturned one of that shape."""
    height, width = shape
    x, y = points[:, 0], points[:, 1]
    if turns == 0:
        return points
    if turns == 1:
        return np.column_stack([width - 1 - y, x])
    if turns == 2:
        return np.column_stack([width - 1 - x, height - 1 - y])
    return np.column_stack([y, height - 1 - x])
