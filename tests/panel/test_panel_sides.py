"""How far points lie from the sides, which run where the corners were cut."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.lens import Lens
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.panel_sides import panel_sides

LENS = Lens(1000.0, 500.0, 400.0)
CORNERS_PX = [[210.0, 120.0], [790.0, 130.0], [780.0, 690.0], [200.0, 700.0]]
#: Its top right corner lies 2 mm further right than a square's.
ASKEW = nominal_corners(200.0, 200.0) + [[0, 0], [2, 0], [0, 0], [0, 0]]


def test_sides_run_between_the_corners_as_they_were_cut() -> None:
    """A side that leans by 2 mm over its length lies 1 mm further out in the middle; the others stay."""
    panel = Panel.from_corners(200.0, 200.0, LENS, CORNERS_PX, corners_mm=ASKEW)
    away = {side.name: float(side.away([90.0, 0.0])) for side in panel_sides(panel)}
    assert away == pytest.approx({"top": 100.0, "right": 11.0, "bottom": 100.0, "left": 190.0}, abs=1e-3)
    top = panel_sides(panel)[0]
    assert top.away([[0.0, -100.0], [0.0, -101.0]]) == pytest.approx([0.0, -1.0], abs=1e-9)


def test_only_what_moves_point_and_side_apart_counts() -> None:
    """The map as a whole may lie anywhere: a side takes its neighbourhood along. The other side's place does count."""
    panel = Panel.from_corners(200.0, 200.0, LENS, CORNERS_PX)
    shift = np.zeros((10, 10))
    shift[:8, :8] = np.kron(np.ones((4, 4)), np.eye(2))
    right = panel_sides(panel)[1]
    point = np.array([90.0, 10.0])
    assert right.map_variance(replace(panel, covariance=shift), point) == pytest.approx(0.0, abs=1e-9)
    # The panel drawn out across, each side by 1 mm: 10 mm from its side that is a tenth.
    wider = np.array([-1, 0, 1, 0, 1, 0, -1, 0, 0, 0.0])
    drawn_out = replace(panel, covariance=np.outer(wider, wider))
    assert np.sqrt(right.map_variance(drawn_out, point)) == pytest.approx(0.1, abs=0.002)
