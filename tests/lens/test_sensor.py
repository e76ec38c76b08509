import numpy as np
import pytest

from aligncheck.lens.sensor import sensor_size, to_sensor, to_upright
from aligncheck.photo.upright import upright


@pytest.mark.parametrize("orientation", [None, *range(1, 9)])
def test_follows_the_pixels(orientation: int | None) -> None:
    """A pixel of the upright picture is found where the sensor held it, for every EXIF orientation."""
    rng = np.random.default_rng(1)
    stored = rng.integers(0, 255, (5, 7, 3), dtype=np.uint8)
    stood = upright(stored, orientation)
    height, width = stood.shape[:2]
    assert sensor_size(orientation, width, height) == (7, 5)
    points = np.array([[x, y] for y in range(height) for x in range(width)])
    there = to_sensor(points, orientation, width, height).astype(int)
    assert np.array_equal(stored[there[:, 1], there[:, 0]], stood[points[:, 1], points[:, 0]])
    assert np.allclose(to_upright(there, orientation, width, height), points)
