"""Real photographs: the chessboard pictures of Debian's package opencv-doc."""

from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.lens.corners import Corners
from aligncheck.lens.solve import Solution, solve
from aligncheck.panel import Panel
from tests.outside.data import published

PHOTOS = Path("/usr/share/doc/opencv-doc/examples/data")
#: The pictures' squares are about 30 px wide; a larger window reaches into the neighbours (11 doubles the rms).
WINDOW = (5, 5)

pytestmark = pytest.mark.skipif(
    not (PHOTOS / "left01.jpg").exists(), reason="needs the photographs of Debian's package opencv-doc"
)


@cache
def views() -> tuple[Corners, ...]:
    """Inner corners of the thirteen pictures, in squares and pixels."""
    data = published("chessboard")
    across, down = data["inner_corners"]
    points = np.stack(np.meshgrid(np.arange(across), np.arange(down)), -1).reshape(-1, 2).astype(float)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 30, 0.1)
    found = []
    for name in data["photos"]:
        grey = cv2.imread(str(PHOTOS / name), cv2.IMREAD_GRAYSCALE)
        ok, corners = cv2.findChessboardCorners(grey, (across, down))
        assert ok, name
        found.append(
            Corners(points, cv2.cornerSubPix(grey, corners, WINDOW, (-1, -1), stop).reshape(-1, 2).astype(float))
        )
    return tuple(found)


def fitted(seen: tuple[Corners, ...], *terms: str) -> Solution:
    return solve(seen, (640, 480), ("focal", "cx", "k1", "k2", *terms), 500.0)


def test_calibration_end_to_end() -> None:
    """The published calibration of these pictures, with the bounds of its own test (bend: another corner window)."""
    expected = published("chessboard")["published"]
    found = fitted(views(), "p1", "k3", "aspect")
    f, cx, cy, k1, k2, p1, p2, k3, aspect = found.values
    assert found.rms_px == pytest.approx(expected["rms"], abs=0.01)
    assert (f, f * aspect, cx, cy) == pytest.approx([expected[k] for k in ("fx", "fy", "cx", "cy")], abs=0.5)
    assert np.abs(np.array([k1, k2, p1, p2, k3]) - expected["bend"]).sum() < 0.01


def rectified_rms_mm(view: Corners, lens: Lens) -> float:
    """How far the inner corners of one picture lie from their places, the panel set by its four outer ones."""
    data = published("chessboard")
    across, down = data["inner_corners"]
    width, height = ((n - 1) * data["square_mm"] for n in (across, down))
    true = view.points * data["square_mm"] - (width / 2, height / 2)
    corners = [0, across - 1, across * down - 1, across * (down - 1)]
    panel = Panel.from_corners(width, height, lens, view.pixels[corners])
    off = panel.to_panel(view.pixels) - true
    return float(np.sqrt((off**2).sum(1).mean()))


def test_rectification_from_four_corners() -> None:
    """Each picture with the lens of the other twelve: median rms within 1.3 x what was found before; 5 x without."""
    data = published("chessboard")["one_photo_mm"]
    with_lens, without = [], []
    for k, view in enumerate(views()):
        f, cx, cy, k1, k2 = fitted(views()[:k] + views()[k + 1 :]).values[:5]
        with_lens.append(rectified_rms_mm(view, Lens(f, cx, cy, k1, k2, "profile")))
        without.append(rectified_rms_mm(view, Lens(f, 319.5, 239.5)))
    assert np.median(with_lens) < 1.3 * data["four_corners_rms_median"]
    assert np.median(without) > 5 * np.median(with_lens)
