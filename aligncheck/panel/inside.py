"""Outlines inside outlines: a panel on a sheet, which is smaller, or a border on a panel, which is none."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import PanelError
from aligncheck.panel.border import around_border, drawn_on_panel, hides_sides, lines_outside, with_ground
from aligncheck.panel.candidates import Candidate, Search, nested_in, refine_outline, tested_for_lines
from aligncheck.panel.evidence import LINE
from aligncheck.panel.findings import Findings
from aligncheck.panel.outlines import SAME_PX, Outline, corner_distance
from aligncheck.panel.painted import is_band_beyond, is_painted_edge
from aligncheck.panel.shadow import ground_goes_on, throws_shadow
from aligncheck.panel.trust import MOST_CHI2, NEAR_MM, trusted

Floats = NDArray[np.float64]

#: A border keeps its distance to the sides within this, measured with a ruler and drawn by hand.
BORDER_EVEN_MM = 2.5
#: Least score of an outline that a painted border may hide.
BORDERED_SCORE = 5.0
#: Four tracks inside an outline that score this are no chance, even where they cannot be believed to be the panel.
CLEARLY_INSIDE = 7.5
#: Outlines nearer than this share of their size are one.
SAME_SHARE = 0.004
#: An outline wholly inside another one is this share of its size away from all its sides.
WELL_INSIDE = 0.02
#: How many of them are refined.
DEEP_FINDS = 2
#: Corners nearer than this share of their outline's size are one.
SHARED = 0.01
#: A sheet on a sheet on a sheet is not believed.
MOST_NESTED = 2


def innermost(search: Search, best: Candidate, findings: Findings) -> Candidate:
    """Follow outlines inside outlines: a panel on a sheet on a board.

    Raises
    ------
    PanelError
        ``outline_doubtful`` where there is no end to it: drawn borders or a pattern are then taken for sides; and
        where an outline shows clearly inside that cannot be believed: the outer one is then a sheet's or a board's.
    """
    for _ in range(MOST_NESTED):
        finds = _finds_inside(search, best, findings)
        borders = [c for c in finds if is_border(search, c, best)]
        inner = [c for c in finds if believed_inside(search, c, best) and not _once_more(c, borders)]
        if not inner:
            if any(casts_doubt(search, c, best) for c in finds):
                raise PanelError("outline_doubtful")
            return best
        best = inner[0]
        # What lies outside, and what mixes sides of both, is explained: no rivals any more.
        findings.candidates = [best]
    if any(believed_inside(search, c, best) for c in nested_in(search, best)):
        raise PanelError("outline_doubtful")
    return best


def _finds_inside(search: Search, outer: Candidate, findings: Findings) -> list[Candidate]:
    """Refined outlines inside another one, the most trusted first: near its sides, and those that were seen anyway."""
    rough = outlines_inside(search, outer, findings)[:DEEP_FINDS]
    refined = [refine_outline(search, outline) for outline in rough]
    finds = nested_in(search, outer) + [tested_for_lines(search, c) for c in refined if c]
    return sorted(finds, key=lambda c: -c.trust)


def outlines_inside(search: Search, outer: Candidate, findings: Findings) -> list[Outline]:
    """Clear outlines of the small view that lie wholly inside another one, best first."""
    panel, half = outer.fit.panel(*outer.size_mm), np.array(outer.size_mm) / 2
    found = []
    for outline in findings.outlines:
        if outline.score < BORDERED_SCORE:
            break
        corners = np.abs(panel.to_panel(search.view.to_photo(outline.corners)))
        if (half - corners).min() > WELL_INSIDE * 2 * half.min():
            found.append(outline)
    return found


def _once_more(one: Candidate, borders: list[Candidate]) -> bool:
    """Whether an outline is a more trusted border's but for a side that strayed: they share two corners."""
    near = SHARED * float(np.ptp(one.corners_px, axis=0).max())
    apart = (
        np.linalg.norm(one.corners_px - border.corners_px, axis=1) for border in borders if border.trust > one.trust
    )
    return any((far < near).sum() >= 2 for far in apart)


def believed_inside(search: Search, inner: Candidate, outer: Candidate) -> bool:
    """Whether an outline found inside another is the panel's own: of the right shape, and not off its drawing."""
    if corner_distance(inner.corners_px, outer.corners_px) < SAME_SHARE * float(np.ptp(outer.corners_px, axis=0).max()):
        # Its sides went back to those it was found inside of: a mat's lines beside them looked like a way in.
        return False
    one, other = inner.evidence.drawing, outer.evidence.drawing
    off_centre = one.pattern > 0.5 and one.off_mm > other.off_mm + 2 and one.off_mm > NEAR_MM
    # What is found inside must not be borne out much less than what it would replace.
    borne_out = inner.trust > max(0.0, min(outer.trust - 3, 3))
    if drawn_on_panel(inner) or is_border(search, inner, outer):
        return False
    return borne_out and inner.fit.shape_chi2 < MOST_CHI2 and not off_centre


def casts_doubt(search: Search, inner: Candidate, outer: Candidate) -> bool:
    """Whether an outline found inside another speaks against the outer one, though it is not believed itself."""
    clear = inner.evidence.score > CLEARLY_INSIDE and inner.trust > 0 and not drawn_on_panel(inner)
    same = SAME_SHARE * float(np.ptp(outer.corners_px, axis=0).max())
    return clear and corner_distance(inner.corners_px, outer.corners_px) > same and not is_border(search, inner, outer)


def is_border(search: Search, inner: Candidate, outer: Candidate) -> bool:
    """Whether an inner outline runs all round at one distance from the outer one's sides, and shades nothing.

    A border is drawn or painted so; a panel laid on a sheet seldom lies so straight and so much in the middle, and
    where it does, its shadow tells.
    """
    if not _even(outer, inner.corners_px, -1.0, BORDER_EVEN_MM):
        return False
    return is_band(search, inner) or not stands_out(search, inner, outer.corners_px)


def is_band(search: Search, candidate: Candidate) -> bool:
    """Whether the outline is the outer edge of a band painted on the panel."""
    return is_painted_edge(search.photo.rgb, candidate.fit.panel(*candidate.size_mm))


def lies_under(search: Search, sheet: Candidate, panel: Candidate) -> bool:
    """Whether an outline all round another one is a sheet's or a board's under it.

    It is what it would be if the inner one had been found inside it; and the panel has to shade it.
    """
    seen = sheet.fit.panel(*sheet.size_mm).to_panel(panel.corners_px)
    within = bool((np.abs(seen) < np.array(sheet.size_mm) / 2).all())
    return within and believed_inside(search, panel, sheet) and stands_out(search, panel, sheet.corners_px)


def stands_out(search: Search, candidate: Candidate, outer_px: Floats) -> bool:
    """Whether an outline's sides shade what lies between them and those of another one (4, 2) around it.

    What shades like a dark band, with the same ground on both its flanks, is one.
    """
    panel = candidate.fit.panel(*candidate.size_mm)
    shades = throws_shadow(search.photo.rgb, panel, outer_px)
    return shades and not ground_goes_on(search.photo.rgb, panel, outer_px)


def _even(one: Candidate, other_px: Floats, sign: float, even_mm: float) -> bool:
    """Whether another outline lies all round (outside: sign 1) at one distance from a candidate's sides.

    The candidate is taken for the panel, so distances are true to a few per cent.
    """
    seen = one.fit.panel(*one.size_mm).to_panel(other_px)
    distances = sign * (np.abs(seen) - np.array(one.size_mm) / 2)
    return bool(distances.min() > 0 and np.ptp(distances) < even_mm)


def outside_border(search: Search, best: Candidate, findings: Findings) -> Candidate:
    """The outline outside a drawn or painted border that was taken for the panel, or the one given.

    Raises
    ------
    PanelError
        ``outline_doubtful`` where sides are but lines drawn on the panel, and no outline outside them is believed.
    """
    own = search.view.from_photo(best.corners_px)
    if findings.pool and lines_outside(own, findings.pool, search.view.centre_px):
        best = with_ground(search, best)
        lines = best.evidence.lines
        outer = around_border(search, best) if lines else None
        if outer and (drawn_on_panel(best) or outer.trust > best.trust - LINE * lines):
            findings.candidates = [outer]
            return outer
        if drawn_on_panel(best):
            raise PanelError("outline_doubtful")
    band = _band_among(search, best, findings)
    if band:
        return _around_band(search, band, findings)
    outer = _around_inner_edge(search, best, findings)
    if outer:
        return _panel_around(search, outer, findings)
    hidden = hides_sides(search, best)
    for outline in findings.outlines:
        if outline.score < BORDERED_SCORE:
            break
        # What the best was refined from is no other outline. Starts are rough by some pixels of the small view.
        if corner_distance(outline.corners, own) <= SAME_PX:
            continue
        around = search.view.to_photo(outline.corners)
        if not _even(best, around, 1.0, 3 * BORDER_EVEN_MM) or (stands_out(search, best, around) and not hidden):
            continue
        outer = refine_outline(search, outline)
        if not outer or not is_border(search, best, outer):
            continue
        if is_band(search, outer) or trusted(outer, search.unit):
            return _panel_around(search, outer, findings)
    if hidden:
        raise PanelError("outline_doubtful")
    return best


def _band_among(search: Search, best: Candidate, findings: Findings) -> Candidate | None:
    """The outer edge of a painted band: the best outline itself, or another one that runs all round it."""
    if is_band(search, best):
        return best
    others = (c for c in findings.candidates if c is not best)
    return next((c for c in others if is_border(search, best, c) and is_band(search, c)), None)


def _around_inner_edge(search: Search, best: Candidate, findings: Findings) -> Candidate | None:
    """An outline known, or looked for where a band lies beyond the best, which that makes a border.

    Raises
    ------
    PanelError
        ``outline_doubtful`` where a band without a shade on it lies beyond the best outline and nothing around that is
        found: a sheet would be shaded by the panel.
    """
    panel = best.fit.panel(*best.size_mm)
    beyond = is_band_beyond(search.photo.rgb, panel)
    looked_for = around_border(search, best) if beyond else None
    known = [*findings.candidates, looked_for] if looked_for else findings.candidates
    around = [c for c in known if trusted(c, search.unit) and is_border(search, best, c)]
    if not around and beyond and not throws_shadow(search.photo.rgb, panel):
        raise PanelError("outline_doubtful")
    return max(around, key=lambda c: c.trust, default=None)


def _panel_around(search: Search, outer: Candidate, findings: Findings) -> Candidate:
    """An outline around a border, or the one around that where it is a painted band's outer edge."""
    if is_band(search, outer):
        return _around_band(search, outer, findings)
    findings.candidates = [outer]
    return outer


def _around_band(search: Search, best: Candidate, findings: Findings) -> Candidate:
    """The most trusted outline all round a painted band's; a refusal where there is none."""
    around = [
        outline
        for outline in findings.outlines
        if outline.score > BORDERED_SCORE
        and _even(best, search.view.to_photo(outline.corners), 1.0, 3 * BORDER_EVEN_MM)
    ]
    refined = [c for c in (refine_outline(search, outline) for outline in around) if c]
    believed = [c for c in [*refined, around_border(search, best)] if c and _holds_band(search, c, best)]
    if not believed:
        raise PanelError("outline_doubtful")
    findings.candidates = [max(believed, key=lambda c: c.trust)]
    return findings.candidates[0]


def _holds_band(search: Search, outer: Candidate, band: Candidate) -> bool:
    """Whether an outline is believed to be the panel's that a band was painted on."""
    runs_round = _even(outer, band.corners_px, -1.0, BORDER_EVEN_MM)
    return runs_round and trusted(outer, search.unit) and not is_band(search, outer)
