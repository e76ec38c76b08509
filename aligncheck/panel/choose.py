"""Which outline is the panel's, or why none can be believed."""

import numpy as np

from aligncheck.errors import PanelError
from aligncheck.panel.border import around_border, drawn_on_panel
from aligncheck.panel.candidates import (
    Candidate,
    Search,
    led_by_drawing,
    looks_nested,
    refine_outline,
    tested_for_lines,
)
from aligncheck.panel.findings import Findings
from aligncheck.panel.inside import innermost, is_border, lies_under, outlines_inside, outside_border
from aligncheck.panel.outlines import Outline, corner_distance, different, plain_outlines
from aligncheck.panel.segments import Lines, line_pool
from aligncheck.panel.trust import is_plain, trusted
from aligncheck.panel.wheel import find_wheels

#: Focal lengths tried against the usual one: wide, main and long lenses of phones.
FOCAL_FACTORS = (0.7, 1.0, 1.45, 2.2)
#: With a score under this no outline is worth refining: right ones have 6 and more.
HOPELESS = 4.5
#: Outlines refined where it is not plain, and how near the best's score they lie.
CLOSE_CALLS, CLOSE_SCORE = 3, 1.6
#: Below this trust the drawing is asked for its outline.
DOUBTFUL = 4.0
#: A second, different outline this near in trust leaves the choice open.
OPEN_CHOICE = 0.5
#: Outlines nearer than this share of their size are one.
SAME_SHARE = 0.02


def search_panel(search: Search, findings: Findings) -> Candidate:
    """Find the panel.

    Raises
    ------
    PanelError
        ``no_panel`` or ``outline_doubtful``; `findings` then hold what was seen.
    """
    view = search.view
    pool = findings.pool = line_pool(view)
    findings.outlines = outlines_of(search, pool)
    hopeful = findings.outlines and findings.outlines[0].score > HOPELESS
    first = refine_outline(search, findings.outlines[0]) if hopeful else None
    if first and is_plain(first.evidence, findings.outlines, search):
        findings.candidates.append(first)
        if not looks_nested(search, first) and not outlines_inside(search, first, findings):
            return outside_border(search, first, findings)
    elif hopeful:
        doubtful = [c for c in [first, *_close_calls(search, findings.outlines)] if c]
        findings.candidates += [tested_for_lines(search, c) for c in doubtful]
    best = findings.best
    if best and drawn_on_panel(best):
        best = around_border(search, best) or best
        findings.candidates = [best, *findings.candidates]
    if best:
        best = innermost(search, best, findings)
    if best is None or best.trust < DOUBTFUL:
        findings.wheels = find_wheels(view)
        findings.candidates += led_by_drawing(search, findings.wheels)
    return outside_border(search, decide(search, findings), findings)


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


def _close_calls(search: Search, outlines: list[Outline]) -> list[Candidate]:
    """The next outlines whose scores are near the best's, refined."""
    near = [o for o in outlines[1:CLOSE_CALLS] if o.score > outlines[0].score - CLOSE_SCORE]
    return [c for c in (refine_outline(search, o) for o in near) if c]


def decide(search: Search, findings: Findings) -> Candidate:
    """The most trusted outline; a refusal where it is not trusted enough, or another one as much.

    A border on the panel and the panel itself are no two panels: the outer one is it; nor are the panel and a sheet
    under it.
    """
    best = findings.best
    if best is None:
        raise PanelError("no_panel")
    if not trusted(best, search.unit):
        raise PanelError("no_panel" if best.trust < 0 else "outline_doubtful")
    same = SAME_SHARE * float(np.ptp(best.corners_px, axis=0).max())
    for rival in findings.candidates:
        as_good = rival.trust > best.trust - OPEN_CHOICE and corner_distance(rival.corners_px, best.corners_px) > same
        if not as_good or is_border(search, rival, best) or is_border(search, best, rival):
            continue
        if not lies_under(search, rival, best):
            raise PanelError("outline_doubtful")
    return best
