"""The front of this package: what lies on the panel, how far it reaches, where the first row may start."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from aligncheck.centrepiece.arrangement import arrangement_of
from aligncheck.centrepiece.candidates import LEAST_AREA_MM2, best_candidate, solid_candidates
from aligncheck.centrepiece.centrepiece import Centrepiece
from aligncheck.centrepiece.clear import Clear, seen_through
from aligncheck.centrepiece.outline import blunted, signed_area
from aligncheck.centrepiece.overview import Overview, overview
from aligncheck.centrepiece.presence import Doubt, why_nothing
from aligncheck.centrepiece.reach import (
    OUTLINE_U95_MM,
    USUAL_HEIGHTS_MM,
    ring_fit,
    seen_reach,
    segment_reaches,
    true_reach,
)
from aligncheck.centrepiece.several import Silhouette, common_heights
from aligncheck.centrepiece.silhouettes import Bare, outlines_of
from aligncheck.centrepiece.window import Floats
from aligncheck.drift import Drift
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.marks import Marks
from aligncheck.notes import Note
from aligncheck.photo import Photo

#: Free space between the piece and the first row unless chosen, mm.
CLEARANCE_MM = 2.0
#: An outline is that of a clear piece whose lines are as surely shifted within it as within the disc about the centre.
BOUNDED = 0.8
#: Of an outline of something clear, what is narrower than this, mm, may be a wiped stroke.
SPIKE_MM = 8.0
#: No centrepiece is higher than this, mm.
HIGHEST_MM = 60.0

#: Outlines, what is doubtful about them, and what else should be known.
Found = tuple[tuple[Floats, ...], Doubt, tuple[Note, ...]]


def what_lies_there(
    photo: Photo,
    drift: Drift,
    *,
    height_mm: float | tuple[float, float] | None = None,
    clearance_mm: float | None = None,
    before: tuple[Photo, Drift] | None = None,
    others: Sequence[tuple[Photo, Drift]] = (),
) -> Centrepiece | Clear | None:
    """Find what lies on a marked panel and measure it; what is clear is noticed only, None is nothing there.

    Parameters
    ----------
    photo : Photo
    drift : Drift
        Of the marks in this photo: centre, spokes, rings and the panel's map.
    height_mm : float or (float, float), optional
        Height of the piece's outer edge above the panel, or the lowest and highest it may be; 0 to 12 mm else.
    clearance_mm : float, optional
        Kept free between the piece and the first row; 2 mm else.
    before : (Photo, Drift), optional
        The same panel, marked, with nothing on it; its Drift's panel map in the frame of `drift`'s.
    others : sequence of (Photo, Drift)
        The same arrangement from other sides, likewise in this photo's frame: they bound the height.
    """
    heights = _heights(height_mm)
    found = _outlines(photo, drift, before)
    if found is None or isinstance(found, Clear):
        return found
    outlines, doubt, notes = found
    views = [Silhouette(outlines[0], drift.marks.panel.camera_position_mm)]
    for other, its_drift in others:
        more = _outlines(other, its_drift, before)
        if more is not None and not isinstance(more, Clear) and not more[1]:
            views.append(Silhouette(more[0][0], its_drift.marks.panel.camera_position_mm))
    heights = common_heights(views, heights)
    piece = measure(outlines, drift, heights, CLEARANCE_MM if clearance_mm is None else clearance_mm, doubt)
    return replace(piece, notes=(*notes, *piece.notes))


def find_centrepiece(
    photo: Photo,
    drift: Drift,
    *,
    height_mm: float | tuple[float, float] | None = None,
    clearance_mm: float | None = None,
    before: tuple[Photo, Drift] | None = None,
    others: Sequence[tuple[Photo, Drift]] = (),
) -> Centrepiece | None:
    """The piece of :func:`what_lies_there`; None also where it is clear, and so has no outline that could be told."""
    found = what_lies_there(photo, drift, height_mm=height_mm, clearance_mm=clearance_mm, before=before, others=others)
    return found if isinstance(found, Centrepiece) else None


def why_none(photo: Photo, drift: Drift) -> CentrepieceError:
    """The refusal where `find_centrepiece` finds nothing."""
    if clear := seen_through(photo, drift.marks):
        return CentrepieceError("clear_piece", **clear.values)
    code, values = why_nothing(overview(photo, drift.marks))
    return CentrepieceError(code, **values)


def _outlines(photo: Photo, drift: Drift, before: tuple[Photo, Drift] | None) -> Found | Clear | None:
    """What one photo shows; None where nothing lies there, and only that something clear does where that is all."""
    marks, bare = drift.marks, (before[0], before[1].marks) if before else None
    clear = seen_through(photo, marks)
    seen = overview(photo, marks)
    if clear:
        return _clear_outlines(photo, marks, seen, clear, bare) or clear
    found = best_candidate(seen)
    if found is None:
        return None
    outlines, doubt = outlines_of(photo, marks, seen, found, bare)
    # What is left of a group of dots is a dot.
    return (outlines, doubt, ()) if signed_area(outlines[0]) >= LEAST_AREA_MM2 else None


def _clear_outlines(photo: Photo, marks: Marks, seen: Overview, clear: Clear, bare: Bare) -> Found | None:
    """Outlines of something clear, if its glints and shades give one within which the lines are shifted.

    Most do not: of the outlines that colours give of clear glass, half are a glint or a shadow.
    """
    tried = [outlines_of(photo, marks, seen, found, bare) for found in solid_candidates(seen)]
    if not tried:
        return None
    fits = [clear.bounded_by(outlines[0]) for outlines, _ in tried]
    k = int(np.argmax(fits))
    outlines, doubt = tried[k]
    # What was wiped shows as much as clear glass does: better a tip too blunt than a stroke taken along.
    outlines = tuple(blunted(outline, SPIKE_MM) for outline in outlines)
    return (outlines, replace(doubt, clear=True), clear.notes) if fits[k] >= BOUNDED else None


def measure(
    pieces: tuple[Floats, ...], drift: Drift, heights: tuple[float, float], clearance_mm: float, doubt: Doubt
) -> Centrepiece:
    """The figures of given outlines."""
    own = OUTLINE_U95_MM + doubt.widen_mm
    points = np.concatenate(pieces)
    seen = seen_reach(points, drift, own)
    reach = true_reach(points, drift, heights, own)
    fit = ring_fit(reach, drift)
    notes = [Note("centrepiece_doubtful")] if doubt else []
    if doubt.as_dark_as_shadow and not doubt:
        notes.append(Note("centrepiece_dark"))
    if heights[0] < heights[1] and reach.u95_mm > seen.u95_mm + 0.5:
        notes.append(Note("centrepiece_height", {"u95_mm": f"{reach.u95_mm:.1f}"}))
    return Centrepiece(
        outline_mm=pieces[0],
        pieces_mm=pieces,
        seen_reach_mm=seen.mm,
        seen_reach_u95_mm=seen.u95_mm,
        seen_reach_deg=seen.deg,
        reach_mm=reach.mm,
        reach_u95_mm=reach.u95_mm,
        reach_deg=reach.deg,
        height_mm=heights,
        ring=fit.ring,
        ring_near=fit.near,
        past_ring=fit.past,
        ring_spare_mm=fit.spare_mm,
        segments=segment_reaches(points, drift, heights, own),
        arrangement=arrangement_of(pieces[0], drift, heights),
        start_radius_mm=reach.mm + reach.u95_mm + clearance_mm,
        clearance_mm=clearance_mm,
        doubtful=bool(doubt),
        notes=tuple(notes),
    )


def _heights(height_mm: float | tuple[float, float] | None) -> tuple[float, float]:
    """Lowest and highest edge."""
    if height_mm is None:
        return USUAL_HEIGHTS_MM
    low, high = height_mm if isinstance(height_mm, tuple) else (height_mm, height_mm)
    if not 0 <= low <= high <= HIGHEST_MM:
        raise InputError("bad_height", text=f"{low:g} to {high:g} mm" if low != high else f"{low:g} mm")
    return float(low), float(high)
