"""A cropped photo is told by its proportions: what the file says of the lens is then the whole photo's."""

import numpy as np
import pytest

from aligncheck.panel.known_camera import believed_camera
from aligncheck.photo import Camera, Photo


def photo_of(width: int, height: int) -> Photo:
    return Photo(np.zeros((height, width, 3), np.uint8), camera=Camera(f35_mm=26.0))


@pytest.mark.parametrize(
    "size",
    [(4032, 3024), (3000, 4000), (4000, 2252), (4608, 2128), (2992, 2992), (6000, 4000), (1024, 683), (2400, 1080)],
)
def test_cameras_own_proportions_are_no_crop(size):
    photo = photo_of(*size)
    assert not photo.cropped
    assert photo.focal_px_by_camera == pytest.approx(26 / 43.267 * np.hypot(*size), rel=1e-4)


@pytest.mark.parametrize("size", [(1356, 1270), (1933, 2400), (2400, 900), (3024, 2800)])
def test_of_a_crop_neither_focal_length_nor_middle_is_known(size):
    photo = photo_of(*size)
    assert photo.cropped
    assert photo.focal_px_by_camera is None
    whole, cut = (believed_camera(p, None).spread for p in (photo_of(4032, 3024), photo))
    assert (cut[2:] / [1, max(size), max(size)] > 10 * whole[2:] / [1, 4032, 4032]).all()
