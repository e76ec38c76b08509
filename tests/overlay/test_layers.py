"""Later stages draw with the same canvas, placer and legend."""

import numpy as np

from aligncheck.overlay import PHONE, draw_flat_overlay
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.grounds import FlatGround
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.picture import compose
from aligncheck.overlay.place import Spot
from aligncheck.overlay.signs import Sign
from aligncheck.panel.flat import FlatView
from tests.overlay.made import MadeCheck, even_spokes, level_panel, made_drift

PANEL = level_panel()
BLANK = FlatView(np.full((600, 600, 3), 60, np.uint8), 2.0, (299.5, 299.5))
GREEN = (0, 200, 0)


class DotLayer:
    """One dot of another stage, with a figure beyond the marks and a sign of its own."""

    def __init__(self, view, lane):
        self.view, self.lane = view, lane

    def block(self, obstacles):
        self.owner = obstacles.new_owner()

    def callouts(self):
        point = self.lane.point_mm(0.0)
        spot = Spot(self.view.to_px(point), self.view.outward_px(point, 0.0))
        return [Callout("plan", "3.4", (spot,), self.owner, 1.0, above="missing", leader=False)]

    def draw_lines(self, canvas):
        canvas.bead(self.view.to_px([35.0, -35.0]), 4.0, GREEN)

    def draw_signs(self, canvas, placements):
        pass

    def entries(self, placements):
        return [
            Entry(Sign(10.0, lambda canvas, x, y, width, style: canvas.bead((x + width / 2, y), 3.0, GREEN)), "dot")
        ]


def test_a_layer_of_another_stage_is_drawn_placed_and_explained():
    """Its mark lies where it belongs, its figure finds room among the others, its sign stands in the legend."""
    drift = made_drift(PANEL, even_spokes(12, [2.0] + [0.0] * 11))
    view = FlatGround(BLANK, PANEL, PHONE).view(390, 58)
    made = compose(view, drift, [DotLayer])
    texts = [line.text for _, placed in made.placements for line in placed.label.plate.lines]
    assert texts == ["2.0 mm", "missing", "3.4 mm"]
    assert "dot" in [entry.text for entry in made.entries]

    picture = draw_flat_overlay(BLANK, MadeCheck(drift), style=PHONE, width_px=390, more=[DotLayer])
    rows, _ = np.nonzero(np.abs(picture.astype(int) - GREEN).max(-1) < 30)
    x, y = np.round(view.to_px([35.0, -35.0])).astype(int)
    assert tuple(picture[y, x]) == GREEN
    assert (rows > view.frame[3]).any()
