import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.marks.sampling import MAX_ROWS, sample_rows, straight
from aligncheck.panel import Panel


def slope_photo(panel: Panel, per_mm: float) -> np.ndarray:
    """A picture whose grey is 128 + `per_mm` times the panel's x."""
    y, x = np.mgrid[0:600, 0:800]
    return np.clip(np.rint(128 + per_mm * panel.to_panel(np.stack([x, y], axis=-1))[..., 0]), 0, 255).astype(np.uint8)


@pytest.fixture
def tilted() -> Panel:
    lens = Lens(700, 400, 300, k1=-0.05, k2=0.01)
    return Panel.from_corners(200, 150, lens, [(150, 120), (650, 90), (700, 520), (110, 480)])


def test_rows_read_the_panel_where_they_should(tilted):
    points, normals = straight((-40, 20), (50, -30), 0.5)
    offsets = np.linspace(-8, 8, 33)
    rows = sample_rows(slope_photo(tilted, 1.0), tilted, points, normals, offsets)
    truth = 128 + (points[:, None] + offsets[:, None] * normals[:, None])[..., 0]
    # Half a code of rounding, and a pixel is 0.4 mm.
    assert np.abs(rows - truth).max() < 0.8


def test_normals_point_clockwise():
    _, normals = straight((0, 0), (0, -10), 1.0)  # outward at 12 o'clock
    assert np.allclose(normals, (1, 0))


def test_more_rows_than_one_remap_takes(tilted):
    count = MAX_ROWS + 7
    points, normals = np.tile((3.0, 4.0), (count, 1)), np.tile((1.0, 0.0), (count, 1))
    rows = sample_rows(slope_photo(tilted, 1.0), tilted, points, normals, np.array([-1.0, 0.0, 1.0]))
    assert rows.shape == (count, 3)
    assert np.array_equal(rows[0], rows[-1])


def test_colour_rows_have_three_channels(tilted):
    grey = slope_photo(tilted, 1.0)
    points, normals = straight((-4, 2), (5, -3), 0.5)
    rows = sample_rows(np.dstack([grey, grey, grey]), tilted, points, normals, np.array([-1.0, 0.0, 1.0]))
    assert rows.shape == (len(points), 3, 3)
    assert np.array_equal(rows[..., 0], sample_rows(grey, tilted, points, normals, np.array([-1.0, 0.0, 1.0])))
