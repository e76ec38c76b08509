"""When an outline is believed: at once, after all, or not at all."""

import numpy as np

from aligncheck.panel.candidates import Candidate, Search
from aligncheck.panel.evidence import Evidence
from aligncheck.panel.outlines import Outline

#: A plain case: nothing in it is doubtful, so nothing else is tried.
PLAIN_SCORE, PLAIN_LEAD, PLAIN_RESIDUAL_PX, PLAIN_CHI2, PLAIN_STRENGTH, PLAIN_U95_MM = 8.5, 1.0, 1.0, 4.0, 3.0, 1.4
#: Least trust of an answer; without a drawing that speaks for it; with one that does; with four clear sides.
LEAST_TRUST, LEAST_WITHOUT, LEAST_WITH, LEAST_CLEAR = 3.0, 4.0, 1.0, 2.0
#: What a clear side is: steps over twice their scatter, nearly all of one sign, and a shape within 2.5 scatters.
CLEAR_CONTRAST, CLEAR_ONE_WAY, CLEAR_CHI2 = 2.0, 0.95, 6.0
#: The wheel's centre is near the middle: painters measure to 3 mm.
NEAR_MM = 3.2
#: Worst misfit of the shape: one right panel in a hundred is worse (chi-squared, two numbers), and a canvas whose deep
#: side face was taken along.
MOST_CHI2 = 9.2
#: Places at random within the last look's 2.5 px to both sides scatter by 1.48 x 1.25 px (units): where a stronger
#: track of such a side was passed over for the shape's sake, a focal length a little off may have chosen, and nothing
#: bears it out.
AT_RANDOM_PX = 1.85
#: An answer worse than this (mm) helps nobody, and its outline may be another one's.
MOST_U95_MM = 3.5
#: The wheel's centre: painters measure the middle to 3 mm; further off, the outline is another one's.
MOST_OFF_MM = 5.0


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


def trusted(candidate: Candidate, unit: float = 1.0) -> bool:
    """Whether the evidence suffices; `unit` as in :class:`Search`."""
    drawing, fit = candidate.evidence.drawing, candidate.fit
    if any(fit.passed_over & (fit.residual_px > AT_RANDOM_PX * unit)):
        return False
    if fit.shape_chi2 > MOST_CHI2 or fit.largest_u95_mm > MOST_U95_MM or candidate.evidence.drawn_sides > 2:
        return False
    if drawing.pattern > 0.5 and drawing.off_mm > MOST_OFF_MM:
        return False
    if drawing.pattern > 0.8 and drawing.off_mm < NEAR_MM and fit.shape_chi2 < PLAIN_CHI2:
        return candidate.trust > LEAST_WITH
    # Boxes printed in a book are clear all round, too: without a wheel in it, clear sides alone do not make a panel.
    if drawing.pattern > 0.5 and all_clear(candidate.evidence):
        return candidate.trust > LEAST_CLEAR
    return candidate.trust > (LEAST_TRUST if drawing.pattern > 0.5 else LEAST_WITHOUT)


def all_clear(evidence: Evidence) -> bool:
    """Whether every side shows clearly all along it, and the shape fits."""
    return bool(
        evidence.contrast.min() > CLEAR_CONTRAST
        and evidence.one_way.min() > CLEAR_ONE_WAY
        and evidence.fit.shape_chi2 < CLEAR_CHI2
    )
