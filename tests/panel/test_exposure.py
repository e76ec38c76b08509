"""Photos that nothing can be measured on are refused before any search."""

import numpy as np
import pytest

from aligncheck.errors import PhotoError
from aligncheck.panel import find_panel
from aligncheck.photo import Photo
from aligncheck.photo.exposure import require_light


def test_a_thumbnail_is_too_small():
    with pytest.raises(PhotoError, match="only 64 x 48 pixels") as error:
        find_panel(Photo(np.full((48, 64, 3), 128, np.uint8)), 300, 300)
    assert error.value.code == "photo_too_small"


def test_noise_in_the_dark_is_too_dark():
    noise = np.random.default_rng(1).integers(0, 25, (700, 900, 3), dtype=np.uint8)
    with pytest.raises(PhotoError, match="too dark"):
        find_panel(Photo(noise), 300, 300)


def test_a_dim_photo_with_light_parts_passes():
    rgb = np.full((70, 90, 3), 12, np.uint8)
    rgb[:7, :20] = 90
    require_light(rgb)


def test_a_white_photo_is_blown_out():
    with pytest.raises(PhotoError, match="blown out"):
        find_panel(Photo(np.full((700, 900, 3), 255, np.uint8)), 300, 300)


def test_a_white_panel_on_white_cloth_passes():
    rgb = np.full((70, 90, 3), 245, np.uint8)
    rgb[:20] = 255
    require_light(rgb)
