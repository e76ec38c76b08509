"""Is an outline to be trusted? Asked of the known lines, which know no colours, and of its edge."""

from dataclasses import dataclass

import cv2
import numpy as np

from aligncheck.centrepiece.candidates import LEAST_AREA_MM2, LOOKS, SOLID_MM, Candidate
from aligncheck.centrepiece.over_sides import corner_between, reached_over
from aligncheck.centrepiece.overview import Overview, distance_mm
from aligncheck.centrepiece.window import Floats, Mask

#: 95 % of how far a doubtful outline may be off, mm; and one of a piece so dark that its shadow may count as piece.
DOUBT_MM, DARK_MM = 5.0, 1.5

#: Doubt: the centre lies farther beside the outline than this, mm: then some dots or a part may have been taken.
BESIDE_MM = 4.0
#: Doubt: share of the lines unseen in a band outside the outline beyond the usual; share of lines seen within it; share
#: of the outline without an edge.
BAND_MM, UNSEEN_MORE, SEEN_WITHIN, NO_EDGE = (1.2, 8.0), 0.18, 0.3, 0.25


@dataclass(frozen=True)
class Doubt:
    """What speaks against an outline; false where nothing does."""

    lines_gone_outside: bool = False
    lines_seen_inside: bool = False
    faint_edge: bool = False
    faint_colour: bool = False
    beside_centre: bool = False
    as_dark_as_shadow: bool = False
    clear: bool = False

    def __bool__(self) -> bool:
        lines = self.lines_gone_outside or self.lines_seen_inside or self.clear
        return lines or self.faint_edge or self.faint_colour or self.beside_centre

    @property
    def widen_mm(self) -> float:
        """What the outline may be wrong by beyond its usual interval."""
        return DOUBT_MM if self else DARK_MM * self.as_dark_as_shadow


def why_nothing(seen: Overview) -> tuple[str, dict[str, str]]:
    """Code and values of the refusal where nothing was found: something over a side or corner, or nothing at all."""
    sides = reached_over(seen, LOOKS[0].darkest, LOOKS[0].unlike, SOLID_MM, LEAST_AREA_MM2)
    if corner := corner_between(sides):
        return "over_corner", {"corner": corner}
    return ("over_side", {"side": sides[0]}) if sides else ("nothing_on_panel", {})


def doubt_of(seen: Overview, found: Candidate, outline_mm: Floats, edge: Mask) -> Doubt:
    """Judge the finished outline of a candidate; `edge` (n,) says where on it the picture shows an edge."""
    faint_colour, dark = found.look is LOOKS[-1], found.look is LOOKS[1]
    faint = float((~edge).mean()) > NO_EDGE
    contour = outline_mm.astype(np.float32).reshape(-1, 1, 2)
    beside = cv2.pointPolygonTest(contour, (float(seen.centre_mm[0]), float(seen.centre_mm[1])), True) < -BESIDE_MM
    if seen.cells is None:
        return Doubt(False, False, faint, faint_colour, beside, dark)
    mask = np.zeros(seen.window.shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(seen.window.to_view(outline_mm)).astype(np.int32)], 1)
    away = distance_mm(mask > 0, seen.window.px_per_mm)
    within = distance_mm(mask == 0, seen.window.px_per_mm) > BAND_MM[0]
    band = (away > BAND_MM[0]) & (away < BAND_MM[1])
    gone = seen.cells.unseen_share(seen.cells_in(band)) > seen.cells.gaps + UNSEEN_MORE
    inside = 1 - seen.cells.unseen_share(seen.cells_in(within)) > SEEN_WITHIN
    return Doubt(gone, inside, faint, faint_colour, beside, dark)
