"""The pictures of `margin`: the whole panel with the four measures, without what the check draws."""

import numpy as np

from aligncheck.drift import Drift
from aligncheck.margin import Margin
from aligncheck.overlay.callouts import place_callouts
from aligncheck.overlay.canvas import Bytes, Canvas
from aligncheck.overlay.colours import DARK
from aligncheck.overlay.frame_layer import FrameLayer
from aligncheck.overlay.grounds import FlatGround, Ground, PhotoGround
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Layer
from aligncheck.overlay.legend import draw_legend, height_q
from aligncheck.overlay.margin_layer import MarginLayer
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.overlays import ENLARGED_PX, LONGEST_PX, Overlays, bare_flat
from aligncheck.overlay.picture import draw_layers
from aligncheck.overlay.strip import STRIP_HIGH, draw_strip
from aligncheck.overlay.view import PRINT, SCREEN
from aligncheck.photo import Photo
from aligncheck.words.summary import Summary

#: Strip, gutters and legend take about so much of the height, q.
STRIP_AND_LEGEND = 120.0


def draw_margin(photo: Photo, drift: Drift, margin: Margin, summary: Summary) -> Overlays:
    """The bare flat view, and the measures on the photo and on the flat view."""
    panel = drift.marks.panel
    flat = bare_flat(photo, panel)
    room = (float("inf"), float("inf"))
    return Overlays(
        _draw(PhotoGround(photo, panel, SCREEN, room), drift, margin, summary),
        flat.image,
        _draw(FlatGround(flat, panel, PRINT, room), drift, margin, summary),
    )


def _draw(ground: Ground, drift: Drift, margin: Margin, summary: Summary) -> Bytes:
    """Strip, ground with layers, legend."""
    style = ground.style
    width = _width(ground)
    q = style.unit_px(width)
    top = round(STRIP_HIGH * q)
    view = ground.view(width, top)
    centre = np.array(drift.centre_mm)
    # Numbers stand at the edge, however far the design goes.
    lane = Lane(centre, np.array([0.0]), np.array([1.0]))
    layers: tuple[Layer, ...] = (FrameLayer(view, lane, np.zeros((0, 2))), MarginLayer(view, margin))
    obstacles = Obstacles(view.frame, view.q)
    for layer in layers:
        layer.block(obstacles)
    placements = place_callouts(obstacles, [callout for layer in layers for callout in layer.callouts()])
    entries = [entry for layer in layers for entry in layer.entries(placements)]
    below = round(height_q(entries, width / q) * q)
    canvas = Canvas(ground.page(width, top, below), q)
    # On the photo a light plate would be louder than the design.
    plates = style._replace(theme=DARK) if view.on_photo else style
    draw_layers(canvas, plates, layers, placements)
    draw_strip(canvas, summary, style)
    draw_legend(canvas, entries, round(view.frame[3]), style)
    return canvas.finish()


def _width(ground: Ground) -> int:
    """As wide as a phone's picture is read well, and no higher than a picture may be."""
    width = ENLARGED_PX
    while width > 400 and ground.height_px(width) + STRIP_AND_LEGEND * ground.style.unit_px(width) > LONGEST_PX:
        width -= 50
    return width
