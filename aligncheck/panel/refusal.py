"""Why no panel can be believed, as exactly as the photo tells: the painter must know what to change."""

import numpy as np

from aligncheck.errors import AligncheckError, MarksError, PanelError
from aligncheck.panel.candidates import Candidate, Search, refine_outline
from aligncheck.panel.cut_off import corners_beyond, is_cut_off
from aligncheck.panel.drawing import leads
from aligncheck.panel.drawing_sign import LEAST_PIXELS, drawing_sign
from aligncheck.panel.findings import Findings
from aligncheck.panel.outlines import plain_outlines
from aligncheck.panel.panel import Panel
from aligncheck.panel.segments import line_pool
from aligncheck.panel.trust import LEAST_WITH, PLAIN_SCORE
from aligncheck.panel.wheel import Wheel, find_wheels

#: An outline that scores this and has a drawing so clear about its middle is a second panel.
SECOND_SCORE, SECOND_PATTERN, SECOND_OFF_MM = 7.5, 0.7, 6.0
#: Two drawings this far apart (view pixels) are not one: panels fill a quarter of the picture and more.
SEVERAL_APART_PX = 200.0
#: And both are clear: a grid or a plank's grain reaches half of that.
SEVERAL_PATTERN, SEVERAL_SURE = 0.6, 0.5
#: Proportions of usual panels (width over height), tried where the given one does not fit.
PROPORTIONS = (1.0, 5 / 4, 4 / 5, 4 / 3, 3 / 4, 3 / 2, 2 / 3, 2.0, 0.5)


def require_one_panel(chosen: Candidate, search: Search, findings: Findings) -> None:
    """Raise PanelError ``two_panels`` where another marked panel lies beside the chosen one."""
    view = search.view
    own = view.from_photo(chosen.corners_px)
    middle, reach = own.mean(0), 0.4 * float(np.ptp(own, axis=0).max())
    beside = [c for c in findings.candidates if np.hypot(*(view.from_photo(c.corners_px).mean(0) - middle)) > reach]
    # What was refined has its drawing looked at already, and about truer corners.
    signs = [c.evidence.drawing for c in beside if c.evidence.score > SECOND_SCORE]
    for outline in findings.outlines:
        if outline.score < SECOND_SCORE or np.hypot(*(outline.corners.mean(0) - middle)) < reach:
            continue
        panel = Panel.from_corners(search.width_mm, search.height_mm, chosen.fit.lens, view.to_photo(outline.corners))
        signs.append(drawing_sign(view, panel))
    if any(sign.pattern > SECOND_PATTERN and sign.off_mm < SECOND_OFF_MM for sign in signs):
        raise PanelError("two_panels")


def several(wheels: list[Wheel]) -> bool:
    """Whether two clear drawings lie beside each other."""
    clear = [w for w in wheels if w.pattern > SEVERAL_PATTERN and w.sure > SEVERAL_SURE]
    if len(clear) < 2:
        return False
    return bool(abs(clear[0].centre - clear[1].centre) > SEVERAL_APART_PX)


def more_exact(refused: PanelError, search: Search, findings: Findings) -> AligncheckError:
    """The refusal in its most exact form: nothing drawn, two panels, cut off, another size, or as it is."""
    if refused.code not in ("no_panel", "outline_doubtful"):
        return refused
    if any(c.trust > 0 and c.evidence.drawing.pixels < LEAST_PIXELS for c in findings.candidates):
        return MarksError("nothing_drawn")
    pool = line_pool(search.view)
    wheels = findings.wheels if findings.wheels is not None else find_wheels(search.view)
    if several(wheels):
        return PanelError("two_panels")
    # Is an outline about the drawing borne out inside the picture, a mat's lines beyond it mean nothing; nor do they
    # where four sides are clear and only their shape is wrong, as with a ruler over one.
    inside = any(
        (c.trust > LEAST_WITH or c.evidence.score > PLAIN_SCORE) and c.evidence.drawing.pattern > 0.5
        for c in findings.candidates
    )
    if not inside and is_cut_off(pool, search.view, search.width_mm, search.height_mm, wheels[0] if wheels else None):
        beyond = corners_beyond(pool, search.view, search.width_mm, search.height_mm, wheels[0])
        return PanelError("panel_cut_off", corners_px=None if beyond is None else search.view.to_photo(beyond).tolist())
    for ratio in PROPORTIONS:
        if abs(np.log(ratio * search.height_mm / search.width_mm)) < 0.1:
            continue
        other = Search(search.photo, search.view, search.height_mm * ratio, search.height_mm, search.lens)
        outlines = plain_outlines(search.view, pool, other.width_mm, other.height_mm)
        if outlines and outlines[0].score > 8.5:
            candidate = refine_outline(other, outlines[0])
            if candidate and candidate.trust > 5:
                return PanelError("size_mismatch", width_mm=search.width_mm, height_mm=search.height_mm)
    # Where a drawing shows, there is a panel under it: only its sides do not show.
    return PanelError("outline_doubtful") if wheels and leads(wheels[0]) else refused
