"""The front of this package: what lies on the panel, how far it reaches, where the first row may start."""

from collections.abc import Sequence

import cv2
import numpy as np

from aligncheck.centrepiece.arrangement import arrangement_of
from aligncheck.centrepiece.before import change
from aligncheck.centrepiece.candidates import LEAST_AREA_MM2, LOOKS, Candidate, best_candidate
from aligncheck.centrepiece.centrepiece import Centrepiece
from aligncheck.centrepiece.colours import Singles
from aligncheck.centrepiece.ground import Ground
from aligncheck.centrepiece.outline import centroid, rough_outline, sharpen, signed_area
from aligncheck.centrepiece.overview import Overview, overview
from aligncheck.centrepiece.presence import Doubt, doubt_of, why_nothing
from aligncheck.centrepiece.reach import (
    OUTLINE_U95_MM,
    USUAL_HEIGHTS_MM,
    ring_fit,
    seen_reach,
    segment_reaches,
    true_reach,
)
from aligncheck.centrepiece.segment import silhouette
from aligncheck.centrepiece.several import Silhouette, common_heights
from aligncheck.centrepiece.tips import mend_tips
from aligncheck.centrepiece.window import Floats, Mask, Window, window_of
from aligncheck.centrepiece.witness import lean_of
from aligncheck.drift import Drift
from aligncheck.errors import CentrepieceError, InputError
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps
from aligncheck.photo import Photo

#: Fine pixels per mm, fewer where the window would be more than so many pixels across.
SCALE, MOST_PX = 5.0, 700
#: Panel looked at round the core, mm; nearer than this to the window's rim the outline may go on beyond it.
MARGIN_MM, RIM_MM = 11.0, 1.5
#: Free space between the piece and the first row unless chosen, mm.
CLEARANCE_MM = 2.0
#: No centrepiece is higher than this, mm.
HIGHEST_MM = 60.0


def find_centrepiece(
    photo: Photo,
    drift: Drift,
    *,
    height_mm: float | tuple[float, float] | None = None,
    clearance_mm: float | None = None,
    before: tuple[Photo, Drift] | None = None,
    others: Sequence[tuple[Photo, Drift]] = (),
) -> Centrepiece | None:
    """Find what lies on a marked panel and measure it; None where nothing lies there.

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
    if found is None:
        return None
    outlines, doubt = found
    views = [Silhouette(outlines[0], drift.marks.panel.camera_position_mm)]
    for other, its_drift in others:
        more = _outlines(other, its_drift, before)
        if more is not None and not more[1]:
            views.append(Silhouette(more[0][0], its_drift.marks.panel.camera_position_mm))
    heights = common_heights(views, heights)
    return measure(outlines, drift, heights, CLEARANCE_MM if clearance_mm is None else clearance_mm, doubt)


def why_none(photo: Photo, drift: Drift) -> CentrepieceError:
    """The refusal where `find_centrepiece` finds nothing."""
    code, values = why_nothing(overview(photo, drift.marks))
    return CentrepieceError(code, **values)


def _outlines(
    photo: Photo, drift: Drift, before: tuple[Photo, Drift] | None
) -> tuple[tuple[Floats, ...], Doubt] | None:
    """Outlines and doubt of one photo; None where nothing lies there."""
    seen = overview(photo, drift.marks)
    found = best_candidate(seen)
    if found is None:
        return None
    outlines, doubt = outlines_of(photo, drift, seen, found, before)
    # What is left of a group of dots is a dot.
    return (outlines, doubt) if signed_area(outlines[0]) >= LEAST_AREA_MM2 else None


def outlines_of(
    photo: Photo, drift: Drift, seen: Overview, found: Candidate, before: tuple[Photo, Drift] | None = None
) -> tuple[tuple[Floats, ...], Doubt]:
    """The outlines as seen, the largest first, and what is doubtful about them."""
    margin, core = MARGIN_MM, found.core
    while True:
        window = _window(photo, drift.marks.panel, seen.ground, _frame(seen, drift.marks.panel, core, margin))
        guess = _carried(core, seen.window, window)
        changed = _change(window, found, before) if before else None
        lean = lean_of(seen.cells, window) if seen.cells is not None and found.look is not LOOKS[0] else None
        more = [evidence for evidence in (changed, lean) if evidence is not None]
        mask, strokes = silhouette(window, guess, drift.marks, found.unlike, found.look.darkest, more)
        whole = window.shape == _window_shape(drift, window.px_per_mm)
        if whole or margin > MARGIN_MM or not _touches(mask, round(RIM_MM * window.px_per_mm)):
            break
        margin *= 3
    outline, edge = sharpen(rough_outline(mask, window), window, strokes)
    outline, _ = mend_tips(outline, window, strokes, centroid(outline))
    return (outline,), doubt_of(seen, found, outline, edge)


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


def _frame(
    seen: Overview, panel: Panel, core: Mask, margin: float
) -> tuple[float, tuple[int, int], tuple[float, float]]:
    """Scale, size (width, height) and origin of a fine window round the core."""
    rows, columns = np.flatnonzero(core.any(1)), np.flatnonzero(core.any(0))
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    low = np.maximum(seen.window.to_panel([columns[0], rows[0]]) - margin, -half)
    high = np.minimum(seen.window.to_panel([columns[-1], rows[-1]]) + margin, half)
    scale = min(SCALE, MOST_PX / float((high - low).max()))
    width, height = np.ceil((high - low) * scale).astype(int)
    return scale, (int(width), int(height)), (float(-low[0] * scale), float(-low[1] * scale))


def _window(
    photo: Photo, panel: Panel, ground: Ground, frame: tuple[float, tuple[int, int], tuple[float, float]]
) -> Window:
    """The window of a photo at that frame."""
    scale, size, origin = frame
    map_x, map_y = flat_maps(panel, scale, size, origin)
    rgb = cv2.remap(photo.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return window_of(np.asarray(rgb, np.uint8), ground, scale, origin)


def _change(window: Window, found: Candidate, before: tuple[Photo, Drift]) -> Singles:
    """What a photo of the bare panel says about the window."""
    photo, drift = before
    ground = overview(photo, drift.marks).ground
    frame = (window.px_per_mm, (window.shape[1], window.shape[0]), window.origin_px)
    return change(window, _window(photo, drift.marks.panel, ground, frame), found.unlike)


def _window_shape(drift: Drift, px_per_mm: float) -> tuple[int, int]:
    """Shape of a window on all of the panel."""
    panel = drift.marks.panel
    return int(np.ceil(panel.height_mm * px_per_mm)), int(np.ceil(panel.width_mm * px_per_mm))


def _carried(mask: Mask, coarse: Window, fine: Window) -> Mask:
    """A mask of one window in the pixels of another."""
    ratio = fine.px_per_mm / coarse.px_per_mm
    shift = np.array(fine.origin_px) - ratio * np.array(coarse.origin_px)
    map_to = np.array([[ratio, 0, shift[0]], [0, ratio, shift[1]]])
    size = (fine.shape[1], fine.shape[0])
    return cv2.warpAffine(mask.astype(np.uint8), map_to, size, flags=cv2.INTER_NEAREST) > 0


def _touches(mask: Mask, rim: int) -> bool:
    """Whether anything lies within `rim` pixels of the border."""
    return bool(mask[:rim].any() or mask[-rim:].any() or mask[:, :rim].any() or mask[:, -rim:].any())
