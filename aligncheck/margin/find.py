"""Measure the margin: candidates for what reaches out furthest, side by side, and how sure each is."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece import Centrepiece
from aligncheck.errors import InputError, MarksError
from aligncheck.geometry.angles import clockwise, outward
from aligncheck.margin.design import design_mask
from aligncheck.margin.ends import End, spoke_ends
from aligncheck.margin.extent import outermost
from aligncheck.margin.margin import Margin, SideMargin
from aligncheck.margin.nearest import Candidate, least
from aligncheck.margin.view import margin_view
from aligncheck.marks import Marks, Spoke
from aligncheck.panel.panel import Panel
from aligncheck.panel.panel_sides import PanelSide, panel_sides
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A spoke and where it ends.
Ended = tuple[Spoke, End]

#: Ink this near to a spoke's line, and no further out than its end by that much, is the spoke's own, mm.
OWN_INK_MM, BEYOND_END_MM = 1.5, 1.0
#: Edges of paint: standard deviation where the edge is sharp, mm (light from one side moves the edge of a dome), and
#: the part of the edge's half-width that adds to it.
INK_SD_MM, SOFT = 0.2, 0.5
#: Half the stroke's width is known to about this, mm.
WIDTH_SD_MM = 0.1
#: A ring counts if this share of it was seen: one arc alone may be something else.
RING_SEEN = 0.3
#: A rebate narrower than nothing or wider than this share of the panel's shorter side leaves nothing to see.
REBATE_SHARE = 0.5


def find_margin(
    photo: Photo, marks: Marks, centrepiece: Centrepiece | None = None, rebate_mm: float | None = None
) -> Margin:
    """How much of the face is clear on each side of everything drawn, painted or laid on it.

    Construction diagonals, ticks, borders and strays do not count. A stroke ends where its chalk ends, without a cap.

    Parameters
    ----------
    photo : Photo
    marks : Marks
    centrepiece : Centrepiece, optional
    rebate_mm : float, optional
        How far the frame will reach over each side.

    Raises
    ------
    InputError
        ``rebate_wide``.
    MarksError
        ``nothing_drawn`` where neither marks nor paint are seen.
    """
    panel = marks.panel
    require_rebate(rebate_mm, panel.width_mm, panel.height_mm)
    view = margin_view(photo, panel)
    ended = list(zip(marks.spokes, spoke_ends(view, marks.spokes, marks.diagonals), strict=True))
    mask = design_mask(view, marks.centre.xy_mm, marks.segments, marks.diagonals)
    ink = outermost(view, mask)
    drawn = [*_spokes(ended), *_rings(marks), *_piece(centrepiece)]
    sides = []
    for side, (points, softness) in zip(panel_sides(panel), ink, strict=True):
        paint = [
            Candidate(p, float(np.hypot(INK_SD_MM, SOFT * s)), "paint", _part_of(p, ended))
            for p, s in zip(points, softness, strict=True)
        ]
        sides.append(_side(panel, side, [*drawn, *paint]))
    return _margin(tuple(sides), rebate_mm)


def require_rebate(rebate_mm: float | None, width_mm: float, height_mm: float) -> None:
    """Refuse a rebate that would leave nothing of the panel in sight."""
    shorter = min(width_mm, height_mm)
    if rebate_mm is not None and not 0 <= rebate_mm < REBATE_SHARE * shorter:
        raise InputError("rebate_wide", rebate_mm=rebate_mm, shorter_mm=round(shorter, 1))


def _side(panel: Panel, side: PanelSide, candidates: list[Candidate]) -> SideMargin:
    """The candidate nearest to one side, with the map's and its own uncertainty."""
    if not candidates:
        raise MarksError("nothing_drawn")
    clear = side.away([one.point_mm for one in candidates])
    point, _, by, _ = candidates[int(np.argmin(clear))]
    margin, own_u95 = least(clear, np.array([one.sd_mm for one in candidates]), [one.part for one in candidates])
    u95 = float(np.hypot(own_u95, 1.96 * np.sqrt(side.map_variance(panel, point))))
    return SideMargin(side.name, margin, u95, point, by)


def _spokes(ended: list[Ended]) -> list[Candidate]:
    """Both corners of each spoke's flat end."""
    found: list[Candidate] = []
    for k, (spoke, end) in enumerate(ended):
        across = clockwise(spoke.angle_deg) * spoke.width_mm / 2
        sd = float(np.hypot(end.sd_mm if end.sharp else max(end.sd_mm, spoke.along_sd_mm[1]), WIDTH_SD_MM))
        found += [Candidate(end.point_mm + side * across, sd, "spoke", f"spoke {k}") for side in (-1, 1)]
    return found


def _rings(marks: Marks) -> list[Candidate]:
    """Each ring's outer edge at its four extremes."""
    found: list[Candidate] = []
    for k, ring in enumerate(marks.rings):
        if ring.coverage < RING_SEEN:
            continue
        # Out of round by so much in all, a ring lies within a quarter of it from its circle most of the way.
        sd = float(np.sqrt(ring.covariance[0, 0] + WIDTH_SD_MM**2 + (ring.roundness_mm / 4) ** 2))
        edge = ring.radius_mm + ring.width_mm / 2
        points = [ring.centre_mm + edge * outward(angle) for angle in (0.0, 90.0, 180.0, 270.0)]
        found += [Candidate(point, sd, "ring", f"ring {k}") for point in points]
    return found


def _piece(piece: Centrepiece | None) -> list[Candidate]:
    """The outline of what lies on the panel."""
    if piece is None:
        return []
    sd = piece.reach_u95_mm / 1.96
    return [Candidate(point, sd, "centrepiece", "piece") for outline in piece.pieces_mm for point in outline]


def _part_of(point: Floats, ended: list[Ended]) -> str:
    """What ink belongs to: at a spoke's end it is one more reading of that end, else it is paint."""
    for k, (spoke, end) in enumerate(ended):
        away = point - end.point_mm
        beside = abs(float(away @ clockwise(spoke.angle_deg)))
        beyond = float(away @ outward(spoke.angle_deg))
        if end.sharp and beside < OWN_INK_MM and -spoke.length_mm < beyond < BEYOND_END_MM:
            return f"spoke {k}"
    return "paint"


def _margin(sides: tuple[SideMargin, ...], rebate_mm: float | None) -> Margin:
    """The four sides, and how far the design's middle lies from the panel's."""
    top, right, bottom, left = sides
    off = (left.margin_mm - right.margin_mm) / 2, (top.margin_mm - bottom.margin_mm) / 2
    u95 = tuple(float(np.hypot(a.u95_mm, b.u95_mm)) / 2 for a, b in ((left, right), (top, bottom)))
    return Margin(sides, off, (u95[0], u95[1]), rebate_mm)
