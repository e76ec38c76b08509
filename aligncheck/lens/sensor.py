"""From the upright photo to the sensor's own frame: a lens belongs to the sensor, however the phone was held."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

#: For each EXIF orientation: the 2 x 2 part of upright -> sensor, and the shift in units of (width - 1, height - 1).
_TURNS: dict[int, tuple[tuple[tuple[int, int], tuple[int, int]], tuple[str, str]]] = {
    1: (((1, 0), (0, 1)), ("", "")),
    2: (((-1, 0), (0, 1)), ("w", "")),
    3: (((-1, 0), (0, -1)), ("w", "h")),
    4: (((1, 0), (0, -1)), ("", "h")),
    5: (((0, 1), (1, 0)), ("", "")),
    6: (((0, 1), (-1, 0)), ("", "w")),
    7: (((0, -1), (-1, 0)), ("h", "w")),
    8: (((0, -1), (1, 0)), ("h", "")),
}


def sensor_map(orientation: int | None, width_px: int, height_px: int) -> tuple[Floats, Floats]:
    """Matrix A (2, 2) and shift b (2,) with sensor = A upright + b, for an upright photo of this size."""
    matrix, shift = _TURNS.get(orientation or 1, _TURNS[1])
    last = {"": 0.0, "w": width_px - 1.0, "h": height_px - 1.0}
    return np.array(matrix, float), np.array([last[s] for s in shift])


def sensor_size(orientation: int | None, width_px: int, height_px: int) -> tuple[int, int]:
    """Width and height of the picture as the sensor holds it."""
    return (height_px, width_px) if (orientation or 1) >= 5 else (width_px, height_px)


def to_sensor(points: ArrayLike, orientation: int | None, width_px: int, height_px: int) -> Floats:
    """Upright pixels (..., 2) to sensor pixels."""
    a, b = sensor_map(orientation, width_px, height_px)
    return np.asarray(points, float) @ a.T + b


def to_upright(points: ArrayLike, orientation: int | None, width_px: int, height_px: int) -> Floats:
    """Sensor pixels (..., 2) to pixels of the upright photo, whose size is given."""
    a, b = sensor_map(orientation, width_px, height_px)
    return (np.asarray(points, float) - b) @ a
