"""The outlines of what lies on the panel: a fine window round each piece, its silhouette, its tips."""

import cv2
import numpy as np

from aligncheck.centrepiece.before import change
from aligncheck.centrepiece.candidates import LOOKS, Candidate
from aligncheck.centrepiece.colours import Singles
from aligncheck.centrepiece.ground import Ground
from aligncheck.centrepiece.others import other_parts
from aligncheck.centrepiece.outline import centroid, rough_outline, sharpen, signed_area
from aligncheck.centrepiece.overview import Overview, overview
from aligncheck.centrepiece.presence import Doubt, doubt_of
from aligncheck.centrepiece.segment import silhouette
from aligncheck.centrepiece.tips import mend_tips
from aligncheck.centrepiece.window import Floats, Mask, Window, window_of
from aligncheck.centrepiece.witness import lean_of
from aligncheck.marks import Marks
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps
from aligncheck.photo import Photo

#: Fine pixels per mm, fewer where the window would be more than so many pixels across.
SCALE, MOST_PX = 5.0, 700
#: Panel looked at round the core, mm; nearer than this to the window's rim the outline may go on beyond it.
MARGIN_MM, RIM_MM = 11.0, 1.5

Frame = tuple[float, tuple[int, int], tuple[float, float]]
Bare = tuple[Photo, Marks] | None


def outlines_of(
    photo: Photo, marks: Marks, seen: Overview, found: Candidate, before: Bare = None
) -> tuple[tuple[Floats, ...], Doubt]:
    """The outlines as seen, the largest first, and what is doubtful about the one at the centre."""
    main, edge = _outline(photo, marks, seen, found, found.core, before)
    doubt = doubt_of(seen, found, main, edge)
    parts = [_outline(photo, marks, seen, found, part, before)[0] for part in other_parts(seen, found, main)]
    return tuple(sorted([main, *parts], key=lambda o: -signed_area(o))), doubt


def _outline(
    photo: Photo, marks: Marks, seen: Overview, found: Candidate, core: Mask, before: Bare
) -> tuple[Floats, Mask]:
    """One outline (n, 2), and where on it the picture shows an edge (n,)."""
    margin, panel = MARGIN_MM, marks.panel
    while True:
        window = _window(photo, panel, seen.ground, _frame(seen, panel, core, margin))
        changed = _change(window, found, before) if before else None
        lean = lean_of(seen.cells, window) if seen.cells is not None and found.look is not LOOKS[0] else None
        more = [evidence for evidence in (changed, lean) if evidence is not None]
        guess = _carried(core, seen.window, window)
        mask, strokes = silhouette(window, guess, marks, found.unlike, found.look.darkest, more)
        whole = window.shape == _window_shape(panel, window.px_per_mm)
        if whole or margin > MARGIN_MM or not _touches(mask, round(RIM_MM * window.px_per_mm)):
            break
        margin *= 3
    outline, edge = sharpen(rough_outline(mask, window), window, strokes)
    return mend_tips(outline, window, strokes, centroid(outline))[0], edge


def _frame(seen: Overview, panel: Panel, core: Mask, margin: float) -> Frame:
    """Scale, size (width, height) and origin of a fine window round the core."""
    rows, columns = np.flatnonzero(core.any(1)), np.flatnonzero(core.any(0))
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    low = np.maximum(seen.window.to_panel([columns[0], rows[0]]) - margin, -half)
    high = np.minimum(seen.window.to_panel([columns[-1], rows[-1]]) + margin, half)
    scale = min(SCALE, MOST_PX / float((high - low).max()))
    width, height = np.ceil((high - low) * scale).astype(int)
    return scale, (int(width), int(height)), (float(-low[0] * scale), float(-low[1] * scale))


def _window(photo: Photo, panel: Panel, ground: Ground, frame: Frame) -> Window:
    """The window of a photo at that frame."""
    scale, size, origin = frame
    map_x, map_y = flat_maps(panel, scale, size, origin)
    rgb = cv2.remap(photo.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return window_of(np.asarray(rgb, np.uint8), ground, scale, origin)


def _change(window: Window, found: Candidate, before: tuple[Photo, Marks]) -> Singles:
    """What a photo of the bare panel says about the window."""
    photo, marks = before
    ground = overview(photo, marks).ground
    frame = (window.px_per_mm, (window.shape[1], window.shape[0]), window.origin_px)
    return change(window, _window(photo, marks.panel, ground, frame), found.unlike)


def _window_shape(panel: Panel, px_per_mm: float) -> tuple[int, int]:
    """Shape of a window on all of the panel."""
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
