"""Is there anything, and is its outline to be trusted? Asked of the known lines, which know no colours."""

from dataclasses import dataclass

import cv2
import numpy as np

from aligncheck.centrepiece.overview import Overview, distance_mm, solid
from aligncheck.centrepiece.window import Floats, Mask

#: Area that a centrepiece shows beside the known lines at least, mm^2: a dot 14 mm across.
LEAST_AREA_MM2 = 150.0
#: Natural log odds, by the lines that it hides, that something lies there.
LEAST_ODDS = 15.0
#: It lies about the centre: no farther from it than this, mm.
FARTHEST_MM = 20.0

#: What covers a side for this length, mm, within this distance from it, mm, reaches over it.
OVER_MM, RIM_MM = 12.0, 2.0

#: Doubt: share of the lines unseen in a band outside the outline beyond the usual; share of lines seen within it; share
#: of the outline without an edge.
BAND_MM, UNSEEN_MORE, SEEN_WITHIN, NO_EDGE = (1.2, 8.0), 0.125, 0.3, 0.25


@dataclass(frozen=True)
class Doubt:
    """What speaks against an outline; false where nothing does."""

    lines_gone_outside: bool = False
    lines_seen_inside: bool = False
    faint_edge: bool = False

    def __bool__(self) -> bool:
        return self.lines_gone_outside or self.lines_seen_inside or self.faint_edge


def on_panel(seen: Overview) -> Mask | None:
    """The mask of what lies on the panel, or None where nothing does."""
    body = solid(seen)
    if body is None or seen.core is None:
        return None
    window = seen.window
    if why_nothing(seen)[0] == "over_side":
        return None
    if (body & ~seen.lines).sum() / window.px_per_mm**2 < LEAST_AREA_MM2:
        return None
    if window.radius_mm(seen.centre_mm)[body].min() > FARTHEST_MM:
        return None
    if seen.cells is not None and seen.cells.log_odds(seen.cells_in(body)) < LEAST_ODDS:
        return None
    return seen.core


def why_nothing(seen: Overview) -> tuple[str, dict[str, str]]:
    """Code and values of the refusal where `on_panel` finds nothing: a hand or a piece over a side, or nothing."""
    body = solid(seen)
    rim = max(1, round(RIM_MM * seen.window.px_per_mm))
    if body is not None:
        over = {"top": body[:rim], "right": body[:, -rim:], "bottom": body[-rim:], "left": body[:, :rim]}
        area = {side: int(part.sum()) for side, part in over.items()}
        side = max(area, key=lambda s: area[s])
        if area[side] / seen.window.px_per_mm**2 > RIM_MM * OVER_MM:
            return "over_side", {"side": side}
    return "nothing_on_panel", {}


def doubt_of(seen: Overview, outline_mm: Floats, edge: Mask) -> Doubt:
    """Judge a finished outline; `edge` (n,) says where on it the picture shows an edge."""
    faint = float((~edge).mean()) > NO_EDGE
    if seen.cells is None:
        return Doubt(faint_edge=faint)
    mask = np.zeros(seen.window.shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(seen.window.to_view(outline_mm)).astype(np.int32)], 1)
    away = distance_mm(mask > 0, seen.window.px_per_mm)
    within = distance_mm(mask == 0, seen.window.px_per_mm) > BAND_MM[0]
    band = (away > BAND_MM[0]) & (away < BAND_MM[1])
    gone = seen.cells.unseen_share(seen.cells_in(band)) > seen.cells.gaps + UNSEEN_MORE
    inside = 1 - seen.cells.unseen_share(seen.cells_in(within)) > SEEN_WITHIN
    return Doubt(gone, inside, faint)
