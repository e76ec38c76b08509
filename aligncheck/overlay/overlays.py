"""The three pictures of a checked photo."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

import cv2
import numpy as np

from aligncheck.overlay.canvas import Bytes
from aligncheck.overlay.grounds import FlatGround, Ground, PhotoGround
from aligncheck.overlay.lane import room_mm
from aligncheck.overlay.picture import LayerMaker, draw_picture, fitting_width
from aligncheck.overlay.stages import drawn_marks
from aligncheck.overlay.view import PRINT, SCREEN, Style
from aligncheck.panel import Panel
from aligncheck.panel.flat import FlatView, flat_view
from aligncheck.photo import Photo
from aligncheck.side_by_side import beside
from aligncheck.words import Seen, summarise

#: Largest side of a picture, and the least that a small photo is enlarged to, so that text stays smooth.
LONGEST_PX, ENLARGED_PX = 2400, 1400
#: From this ratio on linear sampling would leave out pixels of the photo.
FINER = 1.6


class Overlays(NamedTuple):
    """RGB pictures, uint8: the overlay on the photo as taken, the bare flat view, the overlay on the flat view."""

    photo_overlay: Bytes
    flat: Bytes
    flat_overlay: Bytes


def draw_overlays(
    photo: Photo,
    check: Seen,
    longest_px: int = LONGEST_PX,
    more: Sequence[LayerMaker] = (),
    begun: Callable[[], FlatView] | None = None,
) -> Overlays:
    """Draw all three pictures, none with a side longer than `longest_px`; `more` adds the layers of later stages.

    `begun` gives the bare flat view where it was begun before.
    """
    on_photo = beside(partial(draw_photo_overlay, photo, check, longest_px, more=more))
    flat = begun() if begun else bare_flat(photo, check.drift.marks.panel, longest_px)
    on_flat = draw_flat_overlay(flat, check, longest_px, more=more)
    return Overlays(on_photo(), flat.image, on_flat)


def bare_flat(photo: Photo, panel: Panel, longest_px: int = LONGEST_PX) -> FlatView:
    """The flat view with nothing drawn on it, as sharp as the photo, or enlarged to a readable size."""
    photo_scale = float(panel.px_per_mm())
    longest_mm = max(panel.width_mm, panel.height_mm)
    scale = min(longest_px, max(photo_scale * longest_mm, min(ENLARGED_PX, longest_px))) / longest_mm
    if photo_scale < FINER * scale:
        return flat_view(photo.rgb, panel, scale)
    # A much finer photo is sampled twice as densely and averaged, or its grain would flicker.
    fine = flat_view(photo.rgb, panel, 2 * scale)
    width, height = round(panel.width_mm * scale), round(panel.height_mm * scale)
    image = cv2.resize(fine.image, (width, height), interpolation=cv2.INTER_AREA)
    return FlatView(np.asarray(image, np.uint8), scale, ((width - 1) / 2, (height - 1) / 2))


def draw_photo_overlay(
    photo: Photo,
    check: Seen,
    longest_px: int = LONGEST_PX,
    style: Style = SCREEN,
    width_px: int | None = None,
    more: Sequence[LayerMaker] = (),
) -> Bytes:
    """The findings on the photo as taken, cut to the panel; exactly `width_px` wide where that is given."""
    ground = PhotoGround(photo, check.drift.marks.panel, style, room_mm(drawn_marks(check)))
    return _draw(ground, check, longest_px, width_px, more)


def draw_flat_overlay(
    flat: FlatView,
    check: Seen,
    longest_px: int = LONGEST_PX,
    style: Style = PRINT,
    width_px: int | None = None,
    more: Sequence[LayerMaker] = (),
) -> Bytes:
    """The findings on the flat view; exactly `width_px` wide where that is given."""
    ground = FlatGround(flat, check.drift.marks.panel, style, room_mm(drawn_marks(check)))
    return _draw(ground, check, longest_px, width_px, more)


def _draw(ground: Ground, check: Seen, longest_px: int, width_px: int | None, more: Sequence[LayerMaker]) -> Bytes:
    """Choose the width where it is free, then draw."""
    drift = drawn_marks(check)
    if width_px is None:
        enlarged = max(ground.native_width_px, ENLARGED_PX)
        width_px = min(fitting_width(ground, drift, longest_px, len(more)), round(enlarged))
    return draw_picture(ground, drift, summarise(check), width_px, more)
