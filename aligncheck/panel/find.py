"""From a photo to the panel in it, or a refusal: the front function of this package."""

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.errors import PanelError, PhotoError
from aligncheck.lens import Lens
from aligncheck.notes import Note
from aligncheck.panel.by_hand import panel_at
from aligncheck.panel.candidates import Candidate, Search
from aligncheck.panel.choose import search_panel
from aligncheck.panel.findings import Findings
from aligncheck.panel.panel import Panel
from aligncheck.panel.refusal import more_exact, require_one_panel
from aligncheck.panel.small import SmallView
from aligncheck.photo import Photo
from aligncheck.photo.exposure import require_light, require_size
from aligncheck.photo.sharpness import panel_blur_px

#: An edge wider than this (px at 4032 px width; sharp ones take 2 to 9) hides a chalk line.
MOST_BLUR_PX = 20.0
#: Where a drawing shows but no sides can be believed, sides wider than any sharp photo's are the reason.
SOFT_PX = 10.0


def find_panel(
    photo: Photo,
    width_mm: float,
    height_mm: float,
    *,
    lens: Lens | None = None,
    corners_px: ArrayLike | None = None,
    exact_corners: bool = False,
    depth_mm: float | None = None,
) -> Panel:
    """Find the front face of a panel of this size.

    Parameters
    ----------
    photo : Photo
    width_mm, height_mm : float
        As the panel stands in the upright photo. Where only the turned panel fits, the result is turned and says so.
    lens : Lens, optional
        From a profile; else focal length from the photo, bend from the sides.
    corners_px : array_like (4, 2), optional
        Corners by hand in photo pixels, in any order; refined at the panel's sides unless `exact_corners`.
    depth_mm : float, optional
        Thickness of the panel.

    Raises
    ------
    PhotoError
        Codes ``photo_too_small``, ``photo_too_dark``, ``photo_blown_out``, ``photo_blurred``.
    PanelError
        Codes ``no_panel``, ``panel_cut_off``, ``two_panels``, ``size_mismatch``, ``outline_doubtful``,
        ``corners_cross``, ``corners_outside``.
    MarksError
        ``nothing_drawn`` where only a bare panel shows and that is why its outline stays doubtful.
    """
    require_size(photo.width_px, photo.height_px)
    view = SmallView.of(photo, lens)
    require_light(view.rgb)
    if corners_px is not None:
        by_hand = panel_at(photo, np.asarray(corners_px, float), width_mm, height_mm, lens, exact_corners, depth_mm)
        return replace(by_hand, depth_mm=depth_mm)
    search = Search(photo, view, width_mm, height_mm, lens, depth_mm)
    findings = Findings()
    try:
        return _accepted(search_panel(search, findings), search, findings)
    except PanelError as refused:
        if width_mm != height_mm and refused.code != "two_panels":
            turned = _turned(search._replace(width_mm=height_mm, height_mm=width_mm))
            if turned:
                return turned
        best = findings.best
        most_px = SOFT_PX if refused.code == "outline_doubtful" else MOST_BLUR_PX
        if best and panel_blur_px(photo.grey, best.corners_px) > most_px:
            raise PhotoError("photo_blurred") from refused
        raise more_exact(refused, search, findings) from refused


def _accepted(chosen: Candidate, search: Search, findings: Findings) -> Panel:
    if panel_blur_px(search.photo.grey, chosen.corners_px) > MOST_BLUR_PX:
        raise PhotoError("photo_blurred")
    require_one_panel(chosen, search, findings)
    return replace(chosen.fit.panel(search.width_mm, search.height_mm), depth_mm=search.depth_mm)


def _turned(search: Search) -> Panel | None:
    """The panel as it fits turned by a quarter, with a note; None where it does not."""
    findings = Findings()
    try:
        panel = _accepted(search_panel(search, findings), search, findings)
    except PanelError:
        return None
    note = Note("panel_turned", {"width_mm": search.width_mm, "height_mm": search.height_mm})
    return replace(panel, notes=(*panel.notes, note))
