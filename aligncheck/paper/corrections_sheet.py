"""What one check calls out, as a template to lay on the panel: a window for every line that must be drawn again."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.errors import InputError
from aligncheck.geometry.angles import clockwise, outward
from aligncheck.paper.layout_sheet import draw_centre, draw_outline, panel_bounds
from aligncheck.paper.page import Sheets
from aligncheck.paper.start_sheet import require_pencil
from aligncheck.paper.template import GREY, LINE_MM, SMALL_MM, THIN_MM, Template
from aligncheck.units import clock
from aligncheck.words.cautions import BLADE

Floats = NDArray[np.float64]

#: How wide a window is at least, and what it shows beyond the line that is drawn wrongly, mm.
WINDOW_MM, BEYOND_MM = 6.0, 3.0
#: No window comes nearer to the centre: the paper there must hold together.
INNER_MM = 8.0
#: Share of the way to the neighbouring spoke that a window may take.
ROOM = 0.8
#: Ring windows leave this much paper on either side of each spoke, or a third of the segment where that is less.
BRIDGE_MM = 10.0

STEPS = (
    "Cut along the outside line and cut out the windows. Lay the sheet on the panel with its top as in the photo,",
    "corner on corner, the cross on the centre mark, grey lines on lines that fit. Draw along the double edges: they",
    "stand off by half of a line {pencil:g} mm wide, so that its middle comes to lie where it belongs.",
)
#: From the edge to draw along to the second line that marks it.
DOUBLE_MM = 1.0


def corrections_template(result: Mapping[str, Any], pencil_mm: float) -> Template:
    """The template of one result (as in the result file).

    A line traced along the inside of a window's edge runs inside it by half the pencil's width, so the edge lies that
    much beyond the ideal.

    Raises
    ------
    InputError
        "nothing_to_mend" where the check called nothing out, "bad_pencil", or "result_without" where the result lacks
        what is needed.
    """
    require_pencil(pencil_mm)
    try:
        width, height = float(result["panel"]["width_mm"]), float(result["panel"]["height_mm"])
        centre = np.array([result["centre"]["x_mm"], result["centre"]["y_mm"]], float)
        spokes, rings = list(result["spokes"]), list(result["rings"])
        out = [s for s in spokes if s["verdict"] == "out"]
        wrong = [r for r in rings if r["verdict"] == "out"]
        count = max(int(result.get("segments") or len(spokes)), 1)
        windows = [_spoke_window(s, centre, count, pencil_mm) for s in out]
        arcs = [w for r in wrong for w in _ring_windows(r, centre, [s["ideal_deg"] for s in spokes], pencil_mm)]
    except (KeyError, TypeError, ValueError):
        raise InputError("result_without") from None
    if not out and not wrong:
        raise InputError("nothing_to_mend")

    def draw(sheets: Sheets) -> None:
        draw_outline(sheets, width, height)
        _draw_drawn(sheets, result)
        for window in [*windows, *arcs]:
            _draw_window(sheets, window)
        for spoke, (edge, _) in zip(out, windows, strict=True):
            _name_spoke(sheets, spoke, edge)
        draw_centre(sheets, (float(centre[0]), float(centre[1])))

    title = f"Corrections for {_photo_name(result)}"
    steps = (*STEPS[:2], STEPS[2].format(pencil=pencil_mm), BLADE)
    return Template(title, panel_bounds(width, height), draw, steps)


Window = tuple[Floats, Floats]


def _photo_name(result: Mapping[str, Any]) -> str:
    """The photo's file; the first where several were checked together."""
    photo = result.get("photo")
    first = photo[0] if isinstance(photo, list) and photo else photo
    return str(first.get("file") or "the panel") if isinstance(first, Mapping) else "the panel"


def _spoke_window(spoke: Mapping[str, Any], centre: Floats, count: int, pencil_mm: float) -> Window:
    """The edge to draw along (2, 2), half a pencil beyond the ideal line, and the window's other corners (2, 2)."""
    along, across = outward(spoke["ideal_deg"]), clockwise(spoke["ideal_deg"])
    near, far = (float(np.hypot(*(np.array(spoke[end], float) - centre))) for end in ("inner_mm", "outer_mm"))
    near = min(max(near, INNER_MM), 0.8 * far)
    move = float(spoke["move_mm"])
    # The window opens towards the wrong line, so that it can be wiped off through it.
    side = 1.0 if move >= 0 else -1.0
    edge, other = [], []
    for radius in (near, far):
        wide = min(max(WINDOW_MM, abs(move) + BEYOND_MM), ROOM * radius * np.tan(np.pi / max(count, 3)))
        edge.append(centre + radius * along + side * pencil_mm / 2 * across)
        other.append(centre + radius * along + side * (pencil_mm / 2 - wide) * across)
    return np.array(edge), np.array(other[::-1])


def _ring_windows(ring: Mapping[str, Any], centre: Floats, spokes_deg: list[float], pencil_mm: float) -> list[Window]:
    """Arcs between the spokes; the outer edge is the one to draw along."""
    radius = float(ring["ideal_radius_mm"])
    wide = min(max(WINDOW_MM, abs(float(ring["drift_mm"])) + BEYOND_MM), 0.6 * radius)
    outer, inner = radius + pencil_mm / 2, radius + pencil_mm / 2 - wide
    starts = sorted(spokes_deg) or [0.0, 90.0, 180.0, 270.0]
    windows = []
    for start, stop in zip(starts, [*starts[1:], starts[0] + 360], strict=True):
        bridge = min(float(np.degrees(BRIDGE_MM / radius)), (stop - start) / 3)
        angles = np.linspace(start + bridge, stop - bridge, 60)
        windows.append((centre + outer * outward(angles), centre + inner * outward(angles[::-1])))
    return windows


def _draw_drawn(sheets: Sheets, result: Mapping[str, Any]) -> None:
    """The painter's lines where they are, in grey, those that are off dashed."""
    for spoke in result["spokes"]:
        dash = (2, 2) if spoke["verdict"] == "out" else ()
        sheets.lines([(spoke["inner_mm"], spoke["outer_mm"])], THIN_MM, GREY, dash)
    for ring in result["rings"]:
        if ring["verdict"] != "out":
            x, y = ring["centre_mm"]
            sheets.circle(x, y, ring["radius_mm"], THIN_MM, GREY)


def _draw_window(sheets: Sheets, window: Window) -> None:
    """Its outline to cut along, and a second line within, where it is waste, beside the edge to draw along."""
    edge, rest = window
    sheets.lines([[*edge, *rest, edge[0], edge[1]]], LINE_MM)
    inward = rest[::-1] - edge
    sheets.lines([edge + DOUBLE_MM * inward / np.linalg.norm(inward, axis=1, keepdims=True)], LINE_MM)


def _name_spoke(sheets: Sheets, spoke: Mapping[str, Any], edge: Floats) -> None:
    """Where the spoke belongs and how far its end moves, along the edge, on the paper that stays."""
    angle, move = float(spoke["ideal_deg"]), float(spoke["move_mm"])
    words = f"{clock(angle)}: {abs(move):.1f} mm {'clockwise' if move > 0 else 'anticlockwise'}"
    middle = 0.25 * edge[0] + 0.75 * edge[1]
    # Words read from left to right: on the left half they run towards the centre. Their foot is one millimetre away.
    turn, upright = (angle - 90, 1.0) if angle < 180 else (angle + 90, -1.0)
    away = (1.0 if move >= 0 else -1.0) * clockwise(angle)
    foot = 1.0 if (away @ clockwise(angle)) * upright < 0 else 1.0 + 0.7 * SMALL_MM
    x, y = middle + foot * away
    sheets.text(float(x), float(y), words, SMALL_MM, align="centre", turn_deg=turn)
