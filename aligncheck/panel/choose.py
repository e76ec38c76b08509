"""Which outline is the panel's, or why none can be believed."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import PanelError
from aligncheck.panel.candidates import (
    Candidate,
    Search,
    led_by_drawing,
    looks_nested,
    nested_in,
    refine_outline,
    tested_for_lines,
)
from aligncheck.panel.evidence import Evidence
from aligncheck.panel.outlines import Outline, corner_distance, different, plain_outlines
from aligncheck.panel.segments import Lines, line_pool
from aligncheck.panel.wheel import Wheel, find_wheels

Floats = NDArray[np.float64]

#: A plain case: nothing in it is doubtful, so nothing else is tried.
PLAIN_SCORE, PLAIN_LEAD, PLAIN_RESIDUAL_PX, PLAIN_CHI2, PLAIN_STRENGTH, PLAIN_U95_MM = 8.5, 1.0, 1.0, 4.0, 3.0, 1.4
#: Focal lengths tried against the usual one: wide, main and long lenses of phones.
FOCAL_FACTORS = (0.7, 1.0, 1.45, 2.2)
#: With a score under this no outline is worth refining: right ones have 6 and more.
HOPELESS = 4.5
#: Outlines refined where it is not plain, and how near the best's score they lie.
CLOSE_CALLS, CLOSE_SCORE = 3, 1.6
#: Below this trust the drawing is asked for its outline.
DOUBTFUL = 4.0
#: Least trust of an answer; without a drawing that speaks for it; with one that does; with four clear sides.
LEAST_TRUST, LEAST_WITHOUT, LEAST_WITH, LEAST_CLEAR = 3.0, 4.0, 1.0, 2.0
#: What a clear side is: steps over twice their scatter, nearly all of one sign, and a shape within 2.5 scatters.
CLEAR_CONTRAST, CLEAR_ONE_WAY, CLEAR_CHI2 = 2.0, 0.95, 6.0
#: The wheel's centre is near the middle: painters measure to 3 mm.
NEAR_MM = 3.2
#: A second, different outline this near in trust leaves the choice open.
OPEN_CHOICE = 0.5
#: Worst misfit of the shape: four scatters.
MOST_CHI2 = 16.0
#: An answer worse than this (mm) helps nobody, and its outline may be another one's.
MOST_U95_MM = 3.5
#: The wheel's centre: painters measure the middle to 3 mm; further off, the outline is another one's.
MOST_OFF_MM = 5.0
#: A border keeps its distance to the sides within this, measured with a ruler and drawn by hand.
BORDER_EVEN_MM = 2.5
#: A sheet on a sheet on a sheet is not believed.
MOST_NESTED = 2


@dataclass
class Findings:
    """What a search has turned up so far, for the choice and for the words of a refusal."""

    outlines: list[Outline] = field(default_factory=list)
    candidates: list[Candidate] = field(default_factory=list)
    wheels: list[Wheel] | None = None

    @property
    def best(self) -> Candidate | None:
        """The most trusted candidate."""
        return max(self.candidates, key=lambda c: c.trust, default=None)


def search_panel(search: Search, findings: Findings) -> Candidate:
    """Find the panel.

    Raises
    ------
    PanelError
        ``no_panel`` or ``outline_doubtful``; `findings` then hold what was seen.
    """
    view = search.view
    pool = line_pool(view)
    findings.outlines = outlines_of(search, pool)
    hopeful = findings.outlines and findings.outlines[0].score > HOPELESS
    first = refine_outline(search, findings.outlines[0]) if hopeful else None
    if first and is_plain(first.evidence, findings.outlines, search):
        findings.candidates.append(first)
        if not looks_nested(search, first):
            return first
    elif hopeful:
        doubtful = [c for c in [first, *_close_calls(search, findings.outlines)] if c]
        findings.candidates += [tested_for_lines(search, c) for c in doubtful]
    best = findings.best
    if best:
        best = _innermost(search, best, findings)
    if best is None or best.trust < DOUBTFUL:
        findings.wheels = find_wheels(view)
        findings.candidates += led_by_drawing(search, findings.wheels)
    return decide(findings, best)


def outlines_of(search: Search, pool: Lines) -> list[Outline]:
    """The plain search; where the photo does not tell its focal length, through several."""
    view = search.view
    if view.focal_known:
        return plain_outlines(view, pool, search.width_mm, search.height_mm)
    found: list[Outline] = []
    for factor in FOCAL_FACTORS:
        found += plain_outlines(view.with_focal(factor), pool, search.width_mm, search.height_mm)
    found.sort(key=lambda o: -o.score)
    if not found:
        return []
    return [found[k] for k in different(np.array([o.corners for o in found]), len(found))]


def is_plain(evidence: Evidence, outlines: list[Outline], search: Search) -> bool:
    """Whether nothing about the best outline is doubtful."""
    fit, drawing = evidence.fit, evidence.drawing
    unit = max(search.photo.width_px, search.photo.height_px) / 4032
    lead = outlines[0].score - outlines[1].score if len(outlines) > 1 else np.inf
    contradicted = drawing.off_mm > MOST_OFF_MM if drawing.pattern > 0.5 else drawing.elsewhere > 0.55
    return bool(
        evidence.score > PLAIN_SCORE
        and lead > PLAIN_LEAD
        and fit.residual_px.max() < PLAIN_RESIDUAL_PX * unit
        and fit.shape_chi2 < PLAIN_CHI2
        and fit.strength.min() > PLAIN_STRENGTH
        and fit.largest_u95_mm < PLAIN_U95_MM
        and not contradicted
    )


def _close_calls(search: Search, outlines: list[Outline]) -> list[Candidate]:
    """The next outlines whose scores are near the best's, refined."""
    near = [o for o in outlines[1:CLOSE_CALLS] if o.score > outlines[0].score - CLOSE_SCORE]
    return [c for c in (refine_outline(search, o) for o in near) if c]


def _innermost(search: Search, best: Candidate, findings: Findings) -> Candidate:
    """Follow outlines inside outlines: a panel on a sheet on a board.

    Raises
    ------
    PanelError
        ``outline_doubtful`` where there is no end to it: drawn borders or a pattern are then taken for sides.
    """
    for _ in range(MOST_NESTED):
        inner = [c for c in nested_in(search, best) if believed_inside(c, best)]
        if not inner:
            return best
        best = inner[0]
        # What lies outside is explained: it is no rival any more.
        findings.candidates = [c for c in findings.candidates if c.trust < best.trust] + [best]
    if any(believed_inside(c, best) for c in nested_in(search, best)):
        raise PanelError("outline_doubtful")
    return best


def believed_inside(inner: Candidate, outer: Candidate) -> bool:
    """Whether an outline found inside another is the panel's own: of the right shape, and not off its drawing."""
    one, other = inner.evidence.drawing, outer.evidence.drawing
    off_centre = one.pattern > 0.5 and one.off_mm > other.off_mm + 2 and one.off_mm > NEAR_MM
    # What is found inside must not be borne out much less than what it would replace.
    borne_out = inner.trust > max(0.0, min(outer.trust - 3, 3))
    if is_border(inner.corners_px, outer):
        return False
    return borne_out and inner.fit.shape_chi2 < MOST_CHI2 / 2 and not off_centre


def is_border(inner_px: Floats, outer: Candidate) -> bool:
    """Whether an inner outline runs all round at one distance from the outer one's sides.

    A border is drawn or painted so; a panel laid on a sheet hardly ever lies so straight and so much in the middle.
    """
    fit = outer.fit
    # The panel's size is in mm, so distances on the outer outline taken for the panel are true to a few per cent.
    inside = fit.panel(*outer.size_mm).to_panel(inner_px)
    half = np.array(outer.size_mm) / 2
    distances = half - np.abs(inside)
    return bool(np.ptp(distances) < BORDER_EVEN_MM)


def decide(findings: Findings, followed: Candidate | None) -> Candidate:
    """The answer: the outline followed inwards unless another is trusted clearly more; or a refusal."""
    best = findings.best
    if followed and followed.route == "nested":
        best = followed
    if best is None:
        raise PanelError("no_panel")
    if not trusted(best):
        raise PanelError("no_panel" if best.trust < 0 else "outline_doubtful")
    for rival in findings.candidates:
        apart = corner_distance(rival.corners_px, best.corners_px)
        different = apart > 0.02 * float(np.ptp(best.corners_px, axis=0).max())
        if different and best.route != "nested" and rival.trust > best.trust - OPEN_CHOICE:
            raise PanelError("outline_doubtful")
    return best


def trusted(candidate: Candidate) -> bool:
    """Whether the evidence suffices."""
    drawing, fit = candidate.evidence.drawing, candidate.fit
    if fit.shape_chi2 > MOST_CHI2 or fit.largest_u95_mm > MOST_U95_MM or candidate.evidence.drawn_sides > 2:
        return False
    if drawing.pattern > 0.5 and drawing.off_mm > MOST_OFF_MM:
        return False
    if drawing.pattern > 0.8 and drawing.off_mm < NEAR_MM and fit.shape_chi2 < PLAIN_CHI2:
        return candidate.trust > LEAST_WITH
    if all_clear(candidate.evidence):
        return candidate.trust > LEAST_CLEAR
    return candidate.trust > (LEAST_TRUST if drawing.pattern > 0.5 else LEAST_WITHOUT)


def all_clear(evidence: Evidence) -> bool:
    """Whether every side shows clearly all along it, and the shape fits."""
    return bool(
        evidence.contrast.min() > CLEAR_CONTRAST
        and evidence.one_way.min() > CLEAR_ONE_WAY
        and evidence.fit.shape_chi2 < CLEAR_CHI2
    )
