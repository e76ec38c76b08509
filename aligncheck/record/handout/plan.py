"""The layout as a drawing with its dimensions: panel, spokes at their plan, rings with their radii."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from aligncheck.geometry.angles import outward
from aligncheck.record.handout.sheet import Sheet

Result = Mapping[str, Any]


def draw_plan(sheet: Sheet, x: float, y: float, side: float, result: Result) -> float:
    """Draw into a square of `side` at (x, y); where it ends, the words below included."""
    width_mm, height_mm = float(result["panel"]["width_mm"]), float(result["panel"]["height_mm"])
    scale = (side - 12.0) / max(width_mm, height_mm)
    left, top = x + 1.0, y + 1.0
    right, bottom = left + width_mm * scale, top + height_mm * scale
    centre = np.array([(left + right) / 2, (top + bottom) / 2])
    sheet.lines([[(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]], 0.35)
    _dimensions(sheet, left, top, right, bottom, width_mm, height_mm)
    mark = centre + np.array([result["centre"]["x_mm"] or 0.0, result["centre"]["y_mm"] or 0.0]) * scale
    rings = [float(r["ideal_radius_mm"]) for r in result["rings"]]
    for radius in rings:
        sheet.circle(mark[0], mark[1], radius * scale, 0.2)
    reach = _reach_mm(result)
    angles = [float(s["ideal_deg"]) for s in result["spokes"]]
    inner = 0.06 * reach
    sheet.lines([[mark + inner * scale * outward(a), mark + reach * scale * outward(a)] for a in angles], 0.25)
    _radii(sheet, mark, rings, scale, angles)
    return sheet.paragraph(x, bottom + 9.0, plan_words(result), 3.3, side)


def plan_words(result: Result) -> str:
    """The dimensions in a sentence or two."""
    parts = []
    segments = result.get("segments")
    if segments and result["spokes"]:
        parts.append(
            f"{segments} spokes, {360 / segments:g} degrees from one to the next, {_reach_mm(result):.0f} mm long."
        )
    radii = [float(r["ideal_radius_mm"]) for r in result["rings"]]
    if radii:
        parts.append("Rings at " + ", ".join(f"{r:.1f}" for r in radii) + " mm from the centre.")
    return " ".join(parts)


def _reach_mm(result: Result) -> float:
    """Median length of the spokes from the centre; half the panel where there are none."""
    centre = np.array([result["centre"]["x_mm"] or 0.0, result["centre"]["y_mm"] or 0.0])
    ends = [float(np.linalg.norm(np.array(s["outer_mm"]) - centre)) for s in result["spokes"]]
    return float(np.median(ends)) if ends else float(result["panel"]["width_mm"]) / 2


def _dimensions(sheet: Sheet, left: float, top: float, right: float, bottom: float, w: float, h: float) -> None:
    """Width below and height beside the panel."""
    y, x = bottom + 3.5, right + 3.5
    sheet.lines([[(left, y), (right, y)], [(x, top), (x, bottom)]], 0.18)
    for end in (left, right):
        sheet.lines([[(end, y - 1.2), (end, y + 1.2)]], 0.18)
    for end in (top, bottom):
        sheet.lines([[(x - 1.2, end), (x + 1.2, end)]], 0.18)
    sheet.text((left + right) / 2, y + 3.6, f"{w:.1f} mm", 2.9, align="centre")
    sheet.text(x + 1.0, (top + bottom) / 2, f"{h:.0f}", 2.9)


def _radii(sheet: Sheet, mark: np.ndarray, rings: list[float], scale: float, angles: list[float]) -> None:
    """Each ring's radius on a ray between two spokes, as far as there is room."""
    pitch = 360.0 / max(len(angles), 1)
    between = (angles[0] if angles else 0.0) + pitch / 2
    # Of all rays halfway between two spokes the one nearest to 3 o'clock.
    ray = outward(between + pitch * round((90.0 - between) / pitch))
    last = -10.0
    for radius in rings:
        if (radius - last) * scale < 6.4:
            continue
        last = radius
        spot = mark + radius * scale * ray
        sheet.rectangles([(float(spot[0]) - 3.0, float(spot[1]) - 1.3, 6.0, 2.6)], grey=1.0)
        sheet.text(float(spot[0]), float(spot[1]) + 0.9, f"{radius:.1f}", 2.3, align="centre", grey=0.25)
