"""The program's own board finder and fit on real photographs: Debian's opencv-doc."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.lens.fit import fit_lens
from tests.outside.data import published

PHOTOS = Path("/usr/share/doc/opencv-doc/examples/data")

pytestmark = pytest.mark.skipif(
    not (PHOTOS / "left01.jpg").exists(), reason="needs the photographs of Debian's package opencv-doc"
)


def test_real_boards_are_found_and_fitted() -> None:
    """Without being told the number of squares: nearly all boards whole, no corner made up, the published lens.

    The published fit has five bend terms and fx and fy of their own, this one two and one; what they share agrees
    within its interval (focal length, principal point), and the rms with the published one.
    """
    data = published("chessboard")
    fit = fit_lens([PHOTOS / name for name in data["photos"]])
    assert len(fit.used) >= 11
    assert sum(len(b.corners.pixels) == 54 for b in fit.used) >= len(fit.used) - 1
    assert all(len(b.corners.pixels) <= 54 for b in fit.used)
    assert fit.rms_px < data["published"]["rms"] + 0.03
    u95 = 1.96 * np.sqrt(np.diag(fit.profile.covariance))
    expected = data["published"]
    focal = (expected["fx"] + expected["fy"]) / 2
    assert abs(fit.profile.focal_px - focal) < 2 * u95[0]
    assert abs(fit.profile.cx_px - expected["cx"]) < 2 * u95[1] + 0.5
    assert abs(fit.profile.cy_px - expected["cy"]) < 2 * u95[2] + 0.5
    assert {n.code for n in fit.notes} == {"border_unseen"}
