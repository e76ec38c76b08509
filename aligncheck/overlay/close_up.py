"""Close-ups of the panel's middle: the pictures of `reach` and `place`."""

from dataclasses import dataclass, replace

import numpy as np

from aligncheck.centrepiece import Centrepiece
from aligncheck.drift import Drift
from aligncheck.overlay.callouts import place_callouts
from aligncheck.overlay.canvas import Bytes, Canvas
from aligncheck.overlay.centrepiece_layer import CentrepieceLayer
from aligncheck.overlay.colours import DARK
from aligncheck.overlay.frame_layer import FrameLayer
from aligncheck.overlay.gauge import HIGH, Gauge
from aligncheck.overlay.grounds import FlatGround, Ground, PhotoGround
from aligncheck.overlay.lane import Lane
from aligncheck.overlay.layer import Layer
from aligncheck.overlay.legend import draw_legend, height_q
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.overlays import ENLARGED_PX, Overlays, bare_flat
from aligncheck.overlay.placement_layer import PlacementLayer
from aligncheck.overlay.strip import STRIP_HIGH, draw_strip
from aligncheck.overlay.view import PRINT, SCREEN, Style
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_view
from aligncheck.panel.panel import nominal_corners
from aligncheck.photo import Photo
from aligncheck.placement import Placement
from aligncheck.words.summary import Summary

#: Half the window's side: this about the centre, or so much beyond the reach, mm; never more than the panel.
LEAST_MM, BEYOND_MM = 72.0, 22.0
#: Width of a close-up, px: it need not be printed as large as a whole panel.
WIDTH_PX = ENLARGED_PX


@dataclass(frozen=True)
class CloseUp:
    """What a close-up shows: the piece, or, where `moved` is given, how to put it back."""

    photo: Photo
    drift: Drift
    piece: Centrepiece
    summary: Summary
    moved: Placement | None = None


def draw_close_ups(shown: CloseUp) -> Overlays:
    """The bare flat view of the whole panel and both close-ups."""
    window = _window(shown)
    scale = min(8.0, WIDTH_PX / window.width_mm)
    flat = flat_view(shown.photo.rgb, window, scale)
    return Overlays(
        _draw(PhotoGround(shown.photo, window, SCREEN), shown),
        bare_flat(shown.photo, shown.drift.marks.panel).image,
        _draw(FlatGround(flat, window, PRINT), shown),
    )


def _window(shown: CloseUp) -> Panel:
    """The panel as if only its middle were there: the same map, smaller sides."""
    panel, reach = shown.drift.marks.panel, shown.piece.seen_reach_mm + BEYOND_MM
    half = max(LEAST_MM, reach + float(np.abs(shown.drift.centre_mm).max()))
    size = min(panel.width_mm, 2 * half), min(panel.height_mm, 2 * half)
    corners_px = panel.to_photo(nominal_corners(*size))
    return replace(panel, width_mm=size[0], height_mm=size[1], corners_px=corners_px)


def _draw(ground: Ground, shown: CloseUp) -> Bytes:
    """Strip, ground with layers, gauge, legend."""
    style: Style = ground.style
    q, width = style.unit_px(WIDTH_PX), WIDTH_PX
    top = round(STRIP_HIGH * q)
    view = ground.view(width, top)
    radius = shown.piece.seen_reach_mm if shown.moved else shown.piece.reach_mm + shown.piece.reach_u95_mm
    lane = Lane(np.array(shown.drift.centre_mm), np.array([0.0]), np.array([radius + view.mm(2.0)]))
    layers: list[Layer] = [FrameLayer(view, lane, np.zeros((0, 2)))]
    layers.append(CentrepieceLayer(view, lane, drift=shown.drift, piece=shown.piece, moved=shown.moved is not None))
    if shown.moved is not None:
        layers.append(PlacementLayer(view, lane, moved=shown.moved))
    obstacles = Obstacles(view.frame, view.q)
    obstacles.add(view.to_px(lane.outline_mm()))
    for layer in layers:
        layer.block(obstacles)
    placements = place_callouts(obstacles, [c for layer in layers for c in layer.callouts()])
    entries = [entry for layer in layers for entry in layer.entries(placements)]
    gauge = None if shown.moved else Gauge(shown.piece, shown.drift)
    high = round(HIGH * q) if gauge else 0
    below = high + round(height_q(entries, width / q) * q)
    canvas = Canvas(ground.page(width, top, below), q)
    for layer in layers:
        layer.draw_lines(canvas)
    for layer in layers:
        layer.draw_signs(canvas, placements)
    plates = style._replace(theme=DARK) if view.on_photo else style
    for _, placed in placements:
        if placed is not None:
            placed.label.plate.draw(canvas, placed.box, plates)
    draw_strip(canvas, shown.summary, style)
    if gauge:
        gauge.draw(canvas, round(view.frame[3]), style)
    draw_legend(canvas, entries, round(view.frame[3]) + high, style)
    return canvas.finish()
