"""The check: one photo through all stages. The library's front door is `check`."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from aligncheck.advice import advise
from aligncheck.centrepiece import Centrepiece, find_centrepiece, what_lies_there, why_none
from aligncheck.dots import Dots
from aligncheck.drift import Drift, measure_drift
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.later import Paints, later_stages, marks_or_repeat, named_paints, without_rings_of_dots
from aligncheck.layout import Layout, read_layout
from aligncheck.layout.read import SEGMENTS_RANGE
from aligncheck.lens import Lens
from aligncheck.lens.find import find_lens
from aligncheck.margin import Margin
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.panel import Panel, find_panel
from aligncheck.photo import Photo, read_photo
from aligncheck.placement import Placement
from aligncheck.repeat import Repeat
from aligncheck.rows import Rows
from aligncheck.stage import Stage, require_stage
from aligncheck.units import check_size, parse_size

if TYPE_CHECKING:
    from aligncheck.placement import Arranged


@dataclass(frozen=True)
class Check:
    """Everything that one photo says about its panel.

    Attributes
    ----------
    photo : Photo
    panel : Panel
    marks : Marks
    drift : Drift
    stage : str
        The latest stage that the photo shows: ``marked``, ``arranged``, ``rows`` or ``painted``.
    notes : tuple of Note
        What the painter should know, from all stages.
    centrepiece : Centrepiece or None
        What lies on the panel.
    placement : Placement or None
        How that was moved since an earlier photo, where one was named.
    rows : Rows or None
        Petals traced on it.
    repeat : Repeat or None
        How often it repeats, from the stage ``rows`` on.
    dots : Dots or None
        Dots painted on it.
    margin : Margin or None
        What is clear on each side of the design, where that was asked for.
    """

    photo: Photo
    panel: Panel
    marks: Marks
    drift: Drift
    stage: str = "marked"
    notes: tuple[Note, ...] = ()
    centrepiece: Centrepiece | None = None
    placement: Placement | None = None
    rows: Rows | None = None
    repeat: Repeat | None = None
    dots: Dots | None = None
    margin: Margin | None = None

    @property
    def out(self) -> bool:
        """Whether anything is out: a spoke, a ring, a petal that is short, a dot that is missing or too big."""
        verdicts = [s.verdict for s in self.drift.spokes] + [r.verdict for r in self.drift.rings]
        dots = bool(self.dots and (self.dots.missing or self.dots.oversize))
        return "out" in verdicts or bool(self.rows and self.rows.short) or dots


def check(
    photo: str | Path | Photo,
    panel: str | tuple[float, float],
    layout: Layout | str | Path | None = None,
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
    size = parse_size(panel) if isinstance(panel, str) else check_size(*panel)
    ideal = ideal_layout(layout, segments, tolerance_mm)
    require_stage(stage)
    listed = named_paints(paints)
    seen = photo if isinstance(photo, Photo) else read_photo(photo)
    corners = _corners(corners_px, seen)
    glass, remarks = (lens, ()) if isinstance(lens, Lens) else find_lens(seen, Path(lens) if lens else None)
    found = find_panel(seen, *size, lens=glass, corners_px=corners, exact_corners=exact_corners, depth_mm=depth_mm)
    tell = on_stage or (lambda *_: None)
    tell("panel", found)
    marks = marks_or_repeat(seen, found, ideal.segments)
    tell("marks", marks)
    drift = measure_drift(marks, ideal)
    drawn = marks.spokes or marks.rings
    lies = what_lies_there(seen, drift, height_mm=height_mm) if drawn and stage != "marked" else None
    piece = lies if isinstance(lies, Centrepiece) else None
    later = later_stages(seen, drift, stage, piece, listed)
    drift = without_rings_of_dots(drift, later.dots)
    own = (*(lies.notes if lies else ()), *later.notes)
    notes = (*seen.notes, *remarks, *found.notes, *marks.notes, *own, *advise(seen, drift))
    return Check(
        seen,
        found,
        marks,
        drift,
        stage=later.stage or ("arranged" if lies else "marked"),
        notes=tuple({(n.code, n.text): n for n in notes}.values()),
        centrepiece=piece,
        rows=later.rows,
        repeat=later.repeat,
        dots=later.dots,
    )


def reach(
    photo: str | Path | Photo,
    panel: str | tuple[float, float],
    layout: Layout | str | Path | None = None,
    *,
    more: Sequence[str | Path | Photo] = (),
    before: str | Path | Photo | None = None,
    height_mm: float | tuple[float, float] | None = None,
    clearance_mm: float | None = None,
    **options: Any,
) -> Check:
    """Measure what lies on the panel in full; the check of `photo`, its centrepiece never None.

    Parameters
    ----------
    photo : path or Photo
    panel, layout, **options
        As in :func:`check`.
    more : sequence of path or Photo
        The same arrangement from other sides: what is common to all silhouettes bounds its height.
    before : path or Photo, optional
        The same panel, marked, with nothing on it.
    height_mm : float or (float, float), optional
        Height of the outer edge, or the lowest and highest it may be.
    clearance_mm : float, optional
        Kept free between the piece and the first row.

    Raises
    ------
    AligncheckError
        Also where nothing lies on the panel.
    """
    done = check(photo, panel, layout, height_mm=height_mm, **options)
    if done.centrepiece is None:
        raise why_none(done.photo, done.drift)
    if before is None and not more and clearance_mm is None:
        return done
    bare = _framed(done, before, panel, layout, options) if before is not None else None
    others = [_framed(done, other, panel, layout, options) for other in more]
    piece = find_centrepiece(
        done.photo, done.drift, height_mm=height_mm, clearance_mm=clearance_mm, before=bare, others=others
    )
    if piece is None:
        raise why_none(done.photo, done.drift)
    old = {(n.code, n.text) for n in done.centrepiece.notes}
    notes = [n for n in done.notes if (n.code, n.text) not in old]
    return replace(done, centrepiece=piece, notes=(*notes, *piece.notes))


def _framed(
    done: Check, photo: str | Path | Photo, panel: Any, layout: Any, options: dict[str, Any]
) -> tuple[Photo, Drift]:
    """Another photo of the same panel, its map and marks in the frame of `done`."""
    from aligncheck.placement import in_frame_of

    other = check(photo, panel, layout, **options)
    name = other.photo.path.name if other.photo.path else "the other photo"
    return other.photo, in_frame_of(done.drift, other.drift, name)


def place(
    photo: str | Path | Photo,
    like: str | Path | Photo | Sequence[str | Path | Photo],
    panel: str | tuple[float, float],
    layout: Layout | str | Path | None = None,
    *,
    more: Sequence[str | Path | Photo] = (),
    height_mm: float | None = None,
    **options: Any,
) -> Check:
    """Measure how the piece was moved since an earlier photo; the check of `photo` with `placement` in it.

    Parameters
    ----------
    photo : path or Photo
        The present photo; size, layout and what else is given go for all photos.
    like : path or Photo, or a sequence of them
        The earlier photo; further ones show the same arrangement from other places.
    panel, layout, **options
        As in :func:`check`.
    more : sequence of path or Photo
        The piece as it lies now, from other places. A third photo, earlier or now, measures the piece's height.
    height_mm : float, optional
        Height of the piece's outer edge.

    Raises
    ------
    AligncheckError
        Also where one of the photos shows no piece, or they show other marks or another piece.
    """
    # A plain check never compares photos and does not load what does.
    from aligncheck.placement import find_placement

    earlier = [like] if isinstance(like, str | Path | Photo) else list(like)
    if not earlier:
        raise InputError("no_earlier")
    how: dict[str, Any] = {"panel": panel, "layout": layout, "height_mm": height_mm, **options}
    now = check(photo, **how)
    if now.centrepiece is None:
        raise why_none(now.photo, now.drift)
    was = [_arranged(check(one, **how), "the earlier photo") for one in earlier]
    others = [_arranged(check(one, **how), "the other photo") for one in more]
    moved = find_placement(_arranged(now, "this photo"), was[0], height_mm, more_now=others, more_earlier=was[1:])
    return replace(now, placement=moved, notes=(*now.notes, *moved.notes))


def _arranged(done: Check, name: str) -> "Arranged":
    """A checked photo with the piece in it, under its file's name."""
    from aligncheck.placement import Arranged

    called = done.photo.path.name if done.photo.path else name
    if done.centrepiece is None:
        raise CentrepieceError("nothing_in_earlier", file=called)
    return Arranged(done.photo, done.drift, done.centrepiece, called)


def measure_margin(
    photo: str | Path | Photo,
    panel: str | tuple[float, float],
    layout: Layout | str | Path | None = None,
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
    from aligncheck.margin.find import find_margin, require_rebate

    size = parse_size(panel) if isinstance(panel, str) else check_size(*panel)
    require_rebate(rebate_mm, *size)
    done = check(photo, panel, layout, **options)
    found = find_margin(done.photo, done.marks, done.centrepiece, rebate_mm)
    return replace(done, margin=found, notes=(*done.notes, *found.notes))


def ideal_layout(layout: Layout | str | Path | None, segments: int | None, tolerance_mm: float | None) -> Layout:
    """The layout with what was given beside it."""
    ideal = layout if isinstance(layout, Layout) else read_layout(layout) if layout else Layout()
    if segments is not None:
        if not SEGMENTS_RANGE[0] <= segments <= SEGMENTS_RANGE[1]:
            raise InputError("bad_segments", text=segments)
        ideal = replace(ideal, segments=segments)
    if tolerance_mm is not None:
        if not 0 < tolerance_mm < np.inf:
            raise InputError("bad_tolerance", text=tolerance_mm)
        ideal = replace(ideal, tolerance_mm=tolerance_mm)
    return ideal


def _corners(points: Sequence[tuple[float, float]] | None, photo: Photo) -> np.ndarray | None:
    """Four corners by hand as an array (4, 2), all inside the photo."""
    if points is None:
        return None
    corners = np.asarray(points, float)
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise InputError("bad_corner", text=points)
    size = (photo.width_px, photo.height_px)
    for x, y in corners:
        if not (-0.5 <= x <= size[0] - 0.5 and -0.5 <= y <= size[1] - 0.5):
            raise InputError("corners_outside", text=f"{x:g},{y:g}", width=size[0], height=size[1])
    return corners
