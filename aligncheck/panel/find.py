"""From a photo to the panel in it, or a refusal: the front function of this package."""

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.errors import PanelError
from aligncheck.lens import Lens
from aligncheck.panel.by_hand import panel_at
from aligncheck.panel.outlines import plain_outlines
from aligncheck.panel.panel import Panel
from aligncheck.panel.segments import line_pool
from aligncheck.panel.sides import fit_sides
from aligncheck.panel.small import SmallView
from aligncheck.photo import Photo
from aligncheck.photo.exposure import require_light, require_size


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
    """
    require_size(photo.width_px, photo.height_px)
    view = SmallView.of(photo, lens)
    require_light(view.rgb)
    if corners_px is not None:
        return panel_at(photo, np.asarray(corners_px, float), width_mm, height_mm, lens, exact_corners, depth_mm)
    outlines = plain_outlines(view, line_pool(view), width_mm, height_mm)
    if not outlines or outlines[0].score < 6:
        raise PanelError("no_panel")
    fit = fit_sides(photo, view.to_photo(outlines[0].corners), width_mm, height_mm, lens, depth_mm)
    return fit.panel(width_mm, height_mm)
