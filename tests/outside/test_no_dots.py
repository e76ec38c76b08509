"""Real pictures that nobody painted dots on, as scikit-image ships them, taken for panels: no dots are told."""

import cv2
import numpy as np
import pytest
from skimage import data

from aligncheck.dots import find_dots
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks
from aligncheck.panel import Panel
from aligncheck.photo import Photo

SIDE_PX, SIDE_MM = 1500, 300.0


@pytest.mark.parametrize("order", [2, 8])
@pytest.mark.parametrize("picture", ["page", "text", "brick"])
def test_nothing_is_called_painted(picture: str, order: int) -> None:
    seen = getattr(data, picture)()
    scale = SIDE_PX / max(seen.shape[:2])
    seen = cv2.resize(seen, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    h, w = seen.shape[:2]
    photo = Photo(np.repeat(seen[..., None], 3, axis=2))
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]]) - 0.5
    size = SIDE_MM * w / SIDE_PX, SIDE_MM * h / SIDE_PX
    panel = Panel.from_corners(*size, Lens(2500.0, w / 2, h / 2, 0.0, 0.0, "profile"), corners)
    marks = Marks(panel, Centre(np.zeros(2), 1e-4 * np.eye(2), "mark"), None, order, (), ())
    assert find_dots(photo, marks, order) is None
