"""What lies on the panel: its edge as the photo shows it, how far it reaches, the ring it stays inside."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece import Centrepiece
from aligncheck.drift import Drift
from aligncheck.geometry.angles import outward
from aligncheck.overlay import shapes
from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import RING_PLAN, Canvas, Pen
from aligncheck.overlay.colours import BONE, INK, PLAN
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Placements
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Spot
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style, View
from aligncheck.words import phrases
from aligncheck.words.piece import LEGEND_EDGE, LEGEND_REACH, LEGEND_RING, PLATE_REACHES

Floats = NDArray[np.float64]

EDGE = Pen(1.5, 3.5, BONE)
#: A band over chalk must let it through; its rims do not.
BAND_SHARE, BAND_RIM = 0.45, 1.0
WAY = Pen(1.2, 3.0, BONE)
#: Rays on which the figure may hang, degrees from where it reaches furthest, and what each costs, q per degree.
RAYS, AWAY_COST = (0.0, -12.0, 12.0, -24.0, 24.0, -40.0, 40.0), 0.4


def _edge_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y], [x + width, y]], EDGE)


def _band_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    box = shapes.rounded((x, y - 4 * canvas.q, x + width, y + 4 * canvas.q), 1.0)
    canvas.fill([box], style.theme.ground)
    canvas.tint([box], PLAN, BAND_SHARE)
    canvas.stroke(box, BAND_RIM, INK, closed=True)


def _ring_sign(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line([[x, y], [x + width, y]], RING_PLAN)


EDGE_SIGN, BAND_SIGN, RING_SIGN = Sign(20.0, _edge_sign), Sign(20.0, _band_sign), Sign(22.0, _ring_sign)


class CentrepieceLayer:
    """One piece (or several as one): outline, reach, ring."""

    def __init__(self, view: View, lane: Lane, *, drift: Drift, piece: Centrepiece, moved: bool = False):
        self._view, self._lane, self._drift, self._piece = view, lane, drift, piece
        # Where the piece is to be moved its reach is not the question.
        self._outline_only = moved
        self._centre = np.array(drift.centre_mm)
        self._owner = 0

    def block(self, obstacles: Obstacles) -> None:
        """The piece lies within the disc of the marks, which is blocked already."""
        self._owner = obstacles.new_owner()

    def callouts(self) -> list[Callout]:
        """How far it reaches, beyond the marks on the ray of its furthest tip."""
        if self._outline_only:
            return []
        piece = self._piece
        spots = tuple(self._spot(piece.reach_deg + turn, abs(turn) * AWAY_COST) for turn in RAYS)
        below = f"± {phrases.plus_minus(piece.reach_u95_mm)}"
        figure = phrases.mm(piece.reach_mm)
        return [Callout("plan", figure, spots, self._owner, 0.0, above=PLATE_REACHES, below=below, leader=False)]

    def draw_lines(self, canvas: Canvas) -> None:
        """Band, ring, outlines."""
        piece = self._piece
        if not self._outline_only:
            low, high = (self._circle(piece.reach_mm + sign * piece.reach_u95_mm) for sign in (-1, 1))
            canvas.tint([high, low], PLAN, BAND_SHARE)
            for rim in (low, high):
                canvas.stroke(rim, BAND_RIM, INK, closed=True)
            ring = next((r for r in self._drift.rings if r.number == piece.ring), None)
            if ring is not None:
                circle = ring.ring.centre_mm + ring.radius_mm * outward(np.arange(0.0, 360.0, 2.0))
                canvas.line(self._view.to_px(circle), RING_PLAN, closed=True)
        for outline in piece.pieces_mm:
            canvas.line(self._view.to_px(outline), EDGE, closed=True)

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:  # noqa: ARG002 - stands where it stands
        """The way from the centre to the point that decides."""
        if self._outline_only:
            return
        ends = [self._centre, self._centre + self._piece.reach_mm * outward(self._piece.reach_deg)]
        path = self._view.to_px(np.array(ends))
        canvas.line(path, WAY)
        for end in path:
            canvas.bead(end, 2.2)

    def entries(self, placements: Placements) -> list[Entry]:  # noqa: ARG002
        """Edge, reach, ring."""
        entries = [Entry(EDGE_SIGN, LEGEND_EDGE)]
        if self._outline_only:
            return entries
        u95 = phrases.plus_minus(self._piece.reach_u95_mm)
        entries.append(Entry(BAND_SIGN, LEGEND_REACH.format(u95=u95)))
        if self._piece.ring is not None:
            entries.append(Entry(RING_SIGN, LEGEND_RING.format(ring=self._piece.ring)))
        return entries

    def _circle(self, radius_mm: float) -> Floats:
        return self._view.to_px(self._centre + max(radius_mm, 0.1) * outward(np.arange(0.0, 360.0, 1.0)))

    def _spot(self, angle_deg: float, extra: float) -> Spot:
        point = self._lane.point_mm(angle_deg)
        return Spot(self._view.to_px(point), self._view.outward_px(point, angle_deg), extra)
