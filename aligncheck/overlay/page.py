"""Pictures for a page that says verdict and legend itself: the ground with its findings, edge to edge."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay.arrows import choose_lengths
from aligncheck.overlay.canvas import Bytes, Canvas
from aligncheck.overlay.colours import DARK
from aligncheck.overlay.grounds import FlatGround, Ground, PhotoGround
from aligncheck.overlay.lane import room_mm
from aligncheck.overlay.picture import LayerMaker, compose, draw_layers
from aligncheck.overlay.stages import drawn_marks
from aligncheck.overlay.view import PHONE, Style
from aligncheck.panel.flat import FlatView
from aligncheck.photo import Photo
from aligncheck.words import Seen

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PagePicture:
    """A picture without words above and below, and what the page must say and know of it.

    Attributes
    ----------
    image : ndarray, shape (height, width, 3), uint8
    times : int
        How many times longer than the true move its arrows are drawn.
    cut : bool
        Whether the longest arrow had to be cut short.
    spokes_px : tuple of ndarray (2, 2)
        Where each spoke of the drift begins and where its lane passes, in pixels of the picture: there it is tapped.
    """

    image: Bytes
    times: int
    cut: bool
    spokes_px: tuple[Floats, ...]


def photo_page_picture(
    photo: Photo, check: Seen, width_px: int, style: Style = PHONE, more: Sequence[LayerMaker] = ()
) -> PagePicture:
    """The findings on the photo as taken, `width_px` wide."""
    return _draw(PhotoGround(photo, check.drift.marks.panel, style, room_mm(drawn_marks(check))), check, width_px, more)


def flat_page_picture(
    flat: FlatView, check: Seen, width_px: int, style: Style = PHONE, more: Sequence[LayerMaker] = ()
) -> PagePicture:
    """The findings on the flat view, `width_px` wide, on the ground colour of the `style`."""
    return _draw(FlatGround(flat, check.drift.marks.panel, style, room_mm(drawn_marks(check))), check, width_px, more)


def _draw(ground: Ground, check: Seen, width_px: int, more: Sequence[LayerMaker]) -> PagePicture:
    view = ground.view(width_px)
    drift = drawn_marks(check)
    composition = compose(view, drift, more)
    canvas = Canvas(ground.page(width_px), view.q)
    plates = ground.style._replace(theme=DARK) if view.on_photo else ground.style
    draw_layers(canvas, plates, composition.layers, composition.placements)
    lengths = choose_lengths(view, drift, composition.lane)
    # From the spoke's own inner end to the lane, where its bead or arrow lies.
    spokes = tuple(
        view.to_px(np.array([s.spoke.inner_mm, composition.lane.point_mm(s.ideal_deg)])) for s in check.drift.spokes
    )
    return PagePicture(canvas.finish(), lengths.times, lengths.cut, spokes)
