"""Zhang's calibration data (1998): 256 points of a plane in five views of a bent lens."""

import cv2
import numpy as np
import pytest

from aligncheck.geometry.plane_focal import focal_by_equal_axes, focal_by_right_angle
from aligncheck.lens import Lens
from aligncheck.lens.corners import Corners
from aligncheck.lens.solve import solve
from aligncheck.panel import Panel
from tests.outside.data import published

INCH_MM = 25.4


def test_calibration_from_five_views() -> None:
    """Focal length, principal point and bend, as a solver without skew finds them; Zhang's own within 2 sd."""
    data = published("zhang")
    views = [Corners(np.array(data["model"]), np.array(v)) for v in data["views"]]
    found = solve(views, (640, 480), ("focal", "cx", "k1", "k2", "aspect"), 800.0)
    expected = data["calculated"]["no_skew"]
    focal, cx, cy, k1, k2 = found.values[:5]
    fy = focal * found.values[8]
    assert (focal, fy, cx, cy) == pytest.approx([expected[k] for k in ("fx", "fy", "cx", "cy")], abs=0.05)
    assert (k1, k2) == pytest.approx((expected["k1"], expected["k2"]), abs=5e-4)
    sd = dict(zip(found.free, np.sqrt(np.diag(np.linalg.inv(found.information))), strict=True))
    theirs = data["published"]
    for name, value, truth in (("focal", focal, theirs["alpha"]), ("cx", cx, theirs["u0"]), ("k1", k1, theirs["k1"])):
        assert abs(value - truth) < 2 * sd[name]


def test_focal_length_from_one_view() -> None:
    """Each single view implies a focal length: the stated recipe to 0.1 px, and within 7 % of the camera's.

    Recipe: all points, bend removed, published principal point, fx and fy as published and kept apart, no skew.
    """
    data, truth = published("zhang"), published("zhang")["published"]
    matrix = np.array([[truth["alpha"], 0, truth["u0"]], [0, truth["beta"], truth["v0"]], [0, 0, 1.0]])
    for k, pixels in enumerate(data["views"]):
        ideal = cv2.undistortPoints(np.array(pixels)[:, None], matrix, np.array([truth["k1"], truth["k2"], 0, 0]))
        h, _ = cv2.findHomography(np.array(data["model"]), ideal[:, 0] * (truth["alpha"], truth["beta"]))
        assert focal_by_right_angle(h) == pytest.approx(data["calculated"]["focal_by_right_angle"][k], abs=0.1)
        assert focal_by_equal_axes(h) == pytest.approx(data["calculated"]["focal_by_equal_axes"][k], abs=0.1)
        for focal in (focal_by_right_angle(h), focal_by_equal_axes(h)):
            assert focal == pytest.approx(truth["alpha"], rel=0.07)


def test_focal_length_needs_perspective() -> None:
    """A view from straight above says nothing of the focal length."""
    assert focal_by_right_angle(np.eye(3)) is None
    assert focal_by_equal_axes(np.diag([2.0, 2.0, 1.0])) is None


def test_one_view_rectified_from_four_corners() -> None:
    """A panel of 170.74 mm from its four outer corners measures all 256 points as well as was calculated before."""
    data, truth = published("zhang"), published("zhang")["published"]
    lens = Lens(truth["alpha"], truth["u0"], truth["v0"], truth["k1"], truth["k2"], "profile")
    model = np.array(data["model"]) * (INCH_MM, -INCH_MM)
    middle = (model.max(0) + model.min(0)) / 2
    width, height = np.ptp(model, axis=0)
    true = model - middle
    corner = [
        int(np.argmin(np.hypot(*(true - c).T))) for c in np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * width / 2
    ]
    for k, pixels in enumerate(data["views"]):
        seen = np.array(pixels)
        panel = Panel.from_corners(width, height, lens, seen[corner])
        off = panel.to_panel(seen) - true
        rms = np.sqrt((off**2).sum(1).mean())
        # 2 %: this lens has no skew and one focal length, unlike the one the figures were calculated with.
        assert rms == pytest.approx(data["calculated"]["one_view_four_corners_rms_mm"][k], rel=0.02)
