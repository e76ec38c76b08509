"""One photo through all stages. The library's front door is `check`."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from aligncheck.advice import advise
from aligncheck.centrepiece import Centrepiece, what_lies_there
from aligncheck.checking.finished import Check
from aligncheck.checking.given import AnyLayout, AnyPhoto, Size, four_corners, ideal_layout, size_mm
from aligncheck.drift import measure_drift
from aligncheck.later import (
    Paints,
    beside_paint,
    later_stages,
    marks_or_repeat,
    named_paints,
    no_paint,
    repeat_begun,
    with_repeat,
)
from aligncheck.lens import Lens
from aligncheck.lens.find import find_lens
from aligncheck.panel import find_panel
from aligncheck.photo import Photo, read_photo
from aligncheck.stage import Stage, require_stage


def check(
    photo: AnyPhoto,
    panel: Size,
    layout: AnyLayout | None = None,
    *,
    segments: int | None = None,
    tolerance_mm: float | None = None,
    lens: Lens | str | Path | None = None,
    corners_px: Sequence[tuple[float, float]] | None = None,
    exact_corners: bool = False,
    depth_mm: float | None = None,
    height_mm: float | tuple[float, float] | None = None,
    stage: Stage | None = None,
    paints: Paints | str | Path | None = None,
    on_stage: Callable[[str, Any], None] | None = None,
) -> Check:
    """Measure how far the marks on a panel lie from where they should.

    Parameters
    ----------
    photo : path or Photo
    panel : str or (float, float)
        Size as the panel stands in the upright photo, ``"12x12in"`` or (width, height) in mm.
    layout : Layout or path of a layout file, optional
        What was meant; what it leaves open is taken from the marks.
    segments, tolerance_mm : optional
        Override the layout's.
    lens : Lens or path of a profile, optional
        Without it a profile of this camera is looked for; without one the bend is found with the panel.
    corners_px : four (x, y), optional
        The panel's corners in pixels of the upright photo, in any order; refined unless `exact_corners`.
    depth_mm : float, optional
        Thickness of a deep panel, which sharpens its sides.
    height_mm : float or (float, float), optional
        Height of the outer edge of what lies on the panel, or the lowest and highest it may be.
    stage : {"marked", "arranged", "rows", "painted"}, optional
        Look for what belongs to this stage only; else the photo tells.
    paints : dict of name to CIELAB (3,), or path of a list, optional
        The painter's paints, by which the colours of dots are named.
    on_stage : callable, optional
        Called with ``"panel"`` and the Panel, then ``"marks"`` and the Marks, as soon as each is found: for whoever
        shows how far it is.

    Returns
    -------
    Check

    Raises
    ------
    AligncheckError
        A subclass says which stage refused; ``str(error)`` is the sentence for the painter.

    Examples
    --------
    >>> import aligncheck
    >>> one = aligncheck.check("panel.jpg", panel="12x12in")  # doctest: +SKIP
    >>> [round(s.move_mm, 1) for s in one.drift.spokes if s.verdict == "out"]  # doctest: +SKIP
    [2.1, -1.6]
    """
    size = size_mm(panel)
    ideal = ideal_layout(layout, segments, tolerance_mm)
    require_stage(stage)
    listed = named_paints(paints)
    seen = photo if isinstance(photo, Photo) else read_photo(photo)
    corners = four_corners(corners_px, seen)
    glass, remarks = (lens, ()) if isinstance(lens, Lens) else find_lens(seen, Path(lens) if lens else None)
    found = find_panel(seen, *size, lens=glass, corners_px=corners, exact_corners=exact_corners, depth_mm=depth_mm)
    tell = on_stage or (lambda *_: None)
    tell("panel", found)
    marks = marks_or_repeat(seen, found, ideal.segments)
    tell("marks", marks)
    drift = measure_drift(marks, ideal)
    later = later_stages(seen, drift, stage, listed)
    look = repeat_begun(seen, marks.panel, later)
    drift = beside_paint(seen, drift, later, ideal)
    marks = drift.marks
    drawn = marks.spokes or marks.rings
    lies = what_lies_there(seen, drift, height_mm=height_mm) if drawn and stage != "marked" else None
    lies = no_paint(lies, later)
    piece = lies if isinstance(lies, Centrepiece) else None
    later = with_repeat(later, seen, drift, piece, look)
    own = (*(lies.notes if lies else ()), *later.notes)
    notes = (*seen.notes, *remarks, *found.notes, *marks.notes, *own, *advise(seen, drift))
    return Check(
        seen,
        marks.panel,
        marks,
        drift,
        stage=later.stage or ("arranged" if lies else "marked"),
        notes=tuple({(n.code, n.text): n for n in notes}.values()),
        centrepiece=piece,
        rows=later.rows,
        repeat=later.repeat,
        dots=later.dots,
    )
