"""One picture put together: strip, ground, layers, plates and legend."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from aligncheck.drift import Drift
from aligncheck.overlay.arrows import choose_lengths
from aligncheck.overlay.callouts import place_callouts
from aligncheck.overlay.canvas import Bytes, Canvas, Pen
from aligncheck.overlay.colours import BONE, DARK, MOVE
from aligncheck.overlay.frame_layer import FrameLayer
from aligncheck.overlay.grounds import Ground
from aligncheck.overlay.key import bound_on_entries, entries_of
from aligncheck.overlay.lane import Lane, lane_of
from aligncheck.overlay.layer import Layer, Placements
from aligncheck.overlay.legend import Entry, draw_legend, height_q
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.ring_layer import RingLayer
from aligncheck.overlay.spoke_layer import SpokeLayer
from aligncheck.overlay.strip import STRIP_HIGH, draw_strip
from aligncheck.overlay.view import Style, View
from aligncheck.words.summary import Summary

#: A leader takes the colour of what it says.
LEADER_SURE, LEADER_UNSURE = Pen(1.2, 3.0, MOVE), Pen(1.2, 3.0, BONE)


class Composition(NamedTuple):
    """Everything that goes on a ground, in its place, and the legend that explains it."""

    lane: Lane
    frame: FrameLayer
    rings: RingLayer
    spokes: SpokeLayer
    layers: tuple[Layer, ...]
    placements: Placements
    entries: list[Entry]


#: Makes a later stage's layer for one picture.
LayerMaker = Callable[[View, Lane], Layer]


def compose(view: View, drift: Drift, more: Sequence[LayerMaker] = ()) -> Composition:
    """Decide where everything goes, without drawing it; layers made by `more` lie over rings, under spokes."""
    lane = lane_of(view, drift)
    lengths = choose_lengths(view, drift, lane)
    rings, spokes = RingLayer(view, drift, lane, lengths), SpokeLayer(view, drift, lane, lengths)
    frame = FrameLayer(view, lane, spokes.arrow_middles_px, cross=bool(drift.spokes or drift.rings))
    layers: tuple[Layer, ...] = (frame, rings, *(make(view, lane) for make in more), spokes)
    placements = _place(view, layers)
    plan = rings.draws_plan or spokes.draws_plan
    entries = entries_of(drift, lengths, layers, placements, plan)
    return Composition(lane, frame, rings, spokes, layers, placements, entries)


def draw_picture(
    ground: Ground, drift: Drift, summary: Summary, width_px: int, more: Sequence[LayerMaker] = ()
) -> Bytes:
    """Draw a picture `width_px` wide; its height follows from the panel and the legend."""
    style = ground.style
    q = style.unit_px(width_px)
    top = round(STRIP_HIGH * q)
    view = ground.view(width_px, top)
    composition = compose(view, drift, more)
    below = round(height_q(composition.entries, width_px / q) * q)
    canvas = Canvas(ground.page(width_px, top, below), q)
    # On the photo a light plate with a doubt would be louder than a move.
    plates = style._replace(theme=DARK) if view.on_photo else style
    draw_layers(canvas, plates, composition.layers, composition.placements)
    draw_strip(canvas, summary, style)
    draw_legend(canvas, composition.entries, round(view.frame[3]), style)
    return canvas.finish()


def fitting_width(ground: Ground, drift: Drift, longest_px: int, more: int = 0) -> int:
    """The width at which neither side of the picture exceeds `longest_px`, with `more` layers of later stages."""
    width = longest_px
    entries = bound_on_entries(drift, more)
    for _ in range(20):
        q = ground.style.unit_px(width)
        high = round(STRIP_HIGH * q) + ground.height_px(width) + round(height_q(entries, width / q) * q)
        if high <= longest_px:
            break
        width = int(min(width * longest_px / high, width - 1))
    return width


def _place(view: View, layers: Sequence[Layer]) -> Placements:
    """Block what must stay free, then place every layer's figures together."""
    obstacles = Obstacles(view.frame, view.q)
    for layer in layers:
        layer.block(obstacles)
    return place_callouts(obstacles, [callout for layer in layers for callout in layer.callouts()])


def draw_layers(canvas: Canvas, style: Style, layers: Sequence[Layer], placements: Placements) -> None:
    """Lines, leaders, signs, plates, so that each lies over what it may cover."""
    for layer in layers:
        layer.draw_lines(canvas)
    for callout, placed in placements:
        if placed is not None and placed.leader is not None:
            canvas.line(placed.leader, LEADER_SURE if callout.sure else LEADER_UNSURE)
    for layer in layers:
        layer.draw_signs(canvas, placements)
    for _, placed in placements:
        if placed is not None:
            placed.label.plate.draw(canvas, placed.box, style)
