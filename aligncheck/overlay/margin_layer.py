"""The margin: from each side to the outermost part of the design, with its figure, and where the frame's edge lies."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.margin import Margin, SideMargin
from aligncheck.margin.frame import verdict
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import SPOKE_PLAN, Canvas, Pen
from aligncheck.overlay.colours import BONE, MOVE
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.plates import PlateKind
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View, outline_mm
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.panel_sides import SIDES, sides_between
from aligncheck.words import phrases
from aligncheck.words.margins import LEGEND_CLEAR, LEGEND_FRAME

Floats = NDArray[np.float64]

#: The measure from side to design, and its end bars, q.
MEASURE, HIDDEN, BAR = Pen(1.6, 3.8, BONE), Pen(1.6, 3.8, MOVE), 5.0
#: Where along the measure its figure may hang, as shares of the way in.
PLACES = (0.5, 0.3, 0.7)


def _measure_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    _bars(canvas, np.array([[x, y], [x + width, y]]), MEASURE)


def _frame_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y], [x + width, y]], SPOKE_PLAN)


MEASURE_SIGN, FRAME_SIGN = Sign(20.0, _measure_sign), Sign(21.4, _frame_sign)


class MarginLayer:
    """Four measures and the frame's edge."""

    def __init__(self, view: View, margin: Margin):
        self._view, self._margin = view, margin
        self._owners: dict[int, SideMargin] = {}

    def block(self, obstacles: Obstacles) -> None:
        """The design itself, as the eight-sided shape within its extent, and each measure."""
        obstacles.add(self._view.to_px(_octagon(self._margin, self._view.width_mm, self._view.height_mm)))
        for side in self._margin.sides:
            owner = obstacles.new_owner()
            self._owners[owner] = side
            obstacles.add(self._path(side), owner, rim_q=1.0)

    def callouts(self) -> list[Callout]:
        """The figure of each side, beside its measure."""
        return [self._callout(owner, side) for owner, side in self._owners.items()]

    def draw_lines(self, canvas: Canvas) -> None:
        """The frame's edge, dashed, then the measures."""
        if self._margin.rebate_mm:
            canvas.line(self._view.to_px(self._frame()), SPOKE_PLAN, closed=True)
        for side in self._margin.sides:
            _bars(canvas, self._path(side), HIDDEN if self._hidden(side) else MEASURE)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """Nothing: lines and plates say it all."""

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002
        """The measures, and the dashes."""
        entries = [Entry(MEASURE_SIGN, LEGEND_CLEAR)]
        return entries + [Entry(FRAME_SIGN, LEGEND_FRAME)] * bool(self._margin.rebate_mm)

    def _hidden(self, side: SideMargin) -> bool:
        return self._margin.rebate_mm is not None and verdict(side, self._margin.rebate_mm) == "hides"

    def _callout(self, owner: int, side: SideMargin) -> Callout:
        ends = np.array([self._foot(side), side.point_mm])
        ahead = (ends[1] - ends[0]) / max(float(np.hypot(*(ends[1] - ends[0]))), 1e-9)
        spots = []
        for number, share in enumerate(PLACES):
            point = ends[0] + share * (ends[1] - ends[0])
            for way in (1.0, -1.0):
                across = self._view.to_px(point + way * np.array([-ahead[1], ahead[0]])) - self._view.to_px(point)
                spots.append(Spot(self._view.to_px(point), across / float(np.hypot(*across)), 6.0 * number))
        kind: PlateKind = "worst" if self._hidden(side) else "plan"
        below = f"± {phrases.plus_minus(side.u95_mm)}"
        figure = phrases.mm(side.margin_mm)
        return Callout(kind, figure, tuple(spots), owner, 0.0, below=below, above=side.side, leader=False)

    def _path(self, side: SideMargin) -> Floats:
        return self._view.to_px(np.array([self._foot(side), side.point_mm]))

    def _foot(self, side: SideMargin) -> Floats:
        return sides_between(self._view.corners_mm)[SIDES.index(side.side)].foot(side.point_mm)

    def _frame(self) -> Floats:
        """The frame's inner edge, with points along it so that it can bend."""
        narrower = 2 * (self._margin.rebate_mm or 0.0)
        return outline_mm(nominal_corners(self._view.width_mm - narrower, self._view.height_mm - narrower))


def _octagon(margin: Margin, width_mm: float, height_mm: float) -> Floats:
    """The box of the design's extent, a quarter of it cut off at each corner."""
    top, right, bottom, left = (side.margin_mm for side in margin.sides)
    x0, x1, y0, y1 = left - width_mm / 2, width_mm / 2 - right, top - height_mm / 2, height_mm / 2 - bottom
    dx, dy = (x1 - x0) / 4, (y1 - y0) / 4
    return np.array([
        [x0 + dx, y0], [x1 - dx, y0], [x1, y0 + dy], [x1, y1 - dy], [x1 - dx, y1], [x0 + dx, y1], [x0, y1 - dy],
        [x0, y0 + dy],
    ])  # fmt: skip


def _bars(canvas: Canvas, path: Floats, pen: Pen) -> None:
    """A line with a bar across each of its ends."""
    canvas.line(path, pen)
    ahead = (path[1] - path[0]) / max(float(np.hypot(*(path[1] - path[0]))), 1e-9)
    across = np.array([-ahead[1], ahead[0]]) * BAR / 2 * canvas.q
    for end in path:
        canvas.line(np.array([end - across, end + across]), pen)
