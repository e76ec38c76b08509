"""The check of a photo, and how much of the panel is clear around the design."""

from dataclasses import replace
from typing import Any

from aligncheck.checking.finished import Check
from aligncheck.checking.given import AnyLayout, AnyPhoto, Size, size_mm
from aligncheck.checking.one_photo import check
from aligncheck.margin.find import find_margin, require_rebate


def measure_margin(
    photo: AnyPhoto,
    panel: Size,
    layout: AnyLayout | None = None,
    *,
    rebate_mm: float | None = None,
    **options: Any,
) -> Check:
    """Measure how much of the panel is clear on each side of the design; the check of `photo` with `margin` in it.

    Parameters
    ----------
    photo : path or Photo
    panel, layout, **options
        As in :func:`check`.
    rebate_mm : float, optional
        How far the frame will reach over each side.

    Raises
    ------
    AligncheckError
        Also where the rebate is wider than the panel allows, or nothing is drawn or painted.
    """
    require_rebate(rebate_mm, *size_mm(panel))
    done = check(photo, panel, layout, **options)
    found = find_margin(done.photo, done.marks, done.centrepiece, rebate_mm)
    return replace(done, margin=found, notes=(*done.notes, *found.notes))
