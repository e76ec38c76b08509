"""The flat view: the panel's face seen straight from above, in one resampling from the photo's own pixels."""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.scaled import Scaled
from aligncheck.panel.panel import Panel

#: The map is exact at every eighth pixel and linear between: under 0.002 px off on phone photos.
STEP = 8
#: Rows that are rectified at a time: the map of so many stays in the processor's cache.
STRIP = 16 * STEP
#: Says to OpenCV that one array holds x and y: a third of the time of two that are cut out of it.
BOTH_IN_ONE = np.empty(0, np.float32)


@dataclass(frozen=True)
class FlatView(Scaled):
    """A rectified picture.

    Attributes
    ----------
    image : ndarray, shape (h, w) or (h, w, 3), uint8
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin (crossing of the diagonals) lies in `image`; pixel centres are whole numbers.
    """

    image: NDArray[np.uint8]
    px_per_mm: float
    origin_px: tuple[float, float]


def flat_maps(
    panel: Panel, px_per_mm: float, size_px: tuple[int, int], origin_px: tuple[float, float]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Photo coordinates x and y for every pixel of a view of `size_px` (width, height)."""
    full = flat_map(panel, px_per_mm, size_px, origin_px)
    return np.ascontiguousarray(full[..., 0]), np.ascontiguousarray(full[..., 1])


def flat_map(
    panel: Panel, px_per_mm: float, size_px: tuple[int, int], origin_px: tuple[float, float]
) -> NDArray[np.float32]:
    """Photo coordinates (h, w, 2) for every pixel of a view of `size_px` (width, height), as cv2.remap takes them."""
    return _between(_nodes(panel, px_per_mm, size_px, origin_px), size_px)


def _nodes(
    panel: Panel, px_per_mm: float, size_px: tuple[int, int], origin_px: tuple[float, float]
) -> NDArray[np.float32]:
    """The map at the centres of 8 x 8 blocks, one beyond each side, so that a plain resize interpolates exactly."""
    xs, ys = ((np.arange(-1, -(-length // STEP) + 1) + 0.5) * STEP - 0.5 for length in size_px)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1)
    return panel.to_photo((grid - origin_px) / px_per_mm).astype(np.float32)


def _between(nodes: NDArray[np.float32], size_px: tuple[int, int]) -> NDArray[np.float32]:
    """The map (h, w, 2) of a view of `size_px` between its `nodes`."""
    down, across = nodes.shape[:2]
    full = cv2.resize(nodes, (across * STEP, down * STEP), interpolation=cv2.INTER_LINEAR)
    return np.asarray(full[STEP : STEP + size_px[1], STEP : STEP + size_px[0]], np.float32)


def reduction_for(panel: Panel, px_per_mm: float, finer: float = 1.0) -> int:
    """By how much (1, 2, 4 or 8) to reduce the photo for a view of that scale: by means, so that no chalk is skipped.

    The reduced photo still shows the panel `finer` times as fine as the view.
    """
    spare = float(panel.px_per_mm()) / (finer * px_per_mm)
    return int(np.clip(2 ** np.floor(np.log2(max(spare, 1.0))), 1, 8))


def flat_view(
    pixels: NDArray[np.uint8],
    panel: Panel,
    px_per_mm: float,
    margin_mm: float = 0.0,
    interpolation: int = cv2.INTER_LINEAR,
    rim_px: int | None = None,
    reduction: int = 1,
) -> FlatView:
    """Rectify `pixels` (the photo's `rgb` or `grey`, full size) to `px_per_mm`, with `margin_mm` of table around.

    `pixels` may be means of `reduction` x `reduction` of the photo's.
    Outside the photo the view is black; so is its middle where only a rim `rim_px` wide is asked for.
    """
    width = round((panel.width_mm + 2 * margin_mm) * px_per_mm)
    height = round((panel.height_mm + 2 * margin_mm) * px_per_mm)
    origin = ((width - 1) / 2, (height - 1) / 2)
    nodes = _nodes(panel, px_per_mm, (width, height), origin)
    if reduction > 1:
        nodes = (nodes + np.float32(0.5)) / np.float32(reduction) - np.float32(0.5)
    image = (np.empty if rim_px is None else np.zeros)((height, width, *pixels.shape[2:]), np.uint8)
    for rows, columns in _blocks(width, height, rim_px):
        part = image[rows, columns]
        some = nodes[rows.start // STEP :, columns.start // STEP :]
        some = some[: -(-part.shape[0] // STEP) + 2, : -(-part.shape[1] // STEP) + 2]
        maps: tuple[Any, Any] = (_between(some, (part.shape[1], part.shape[0])), None)
        if pixels.ndim > 2:
            # Colours in thirty-seconds of a pixel, as pictures are shown, not measured, take two thirds of the time.
            maps = cv2.convertMaps(maps[0], BOTH_IN_ONE, cv2.CV_16SC2)
        cv2.remap(pixels, *maps, interpolation, dst=part, borderMode=cv2.BORDER_CONSTANT)
    return FlatView(image, px_per_mm, origin)


def _blocks(width: int, height: int, rim_px: int | None) -> list[tuple[slice, slice]]:
    """Rows and columns that together cover a view, or its rim: each block begins at a node and is a strip high."""
    areas = [(0, height, 0, width)]
    if rim_px is not None and 2 * rim_px + STEP < min(width, height):
        upper, lower, left, right = (
            -(-rim_px // STEP) * STEP,
            (height - rim_px) // STEP * STEP,
            rim_px,
            (width - rim_px) // STEP * STEP,
        )
        areas = [(0, upper, 0, width), (lower, height, 0, width), (upper, lower, 0, left), (upper, lower, right, width)]
    return [
        (slice(top, min(top + STRIP, end)), slice(first, last))
        for begin, end, first, last in areas
        for top in range(begin, end, STRIP)
    ]
