"""Traced panels chosen by a seed: every outline, one to four rows, five to twenty-four segments, all sorts of chalk."""

from dataclasses import replace
from typing import Any, get_args

import numpy as np

from tests.render import Drawing, Panel, Scene, by_hand, ordinary_scene
from tests.render.tracing import Outline, TracedRow, traced

#: Arcs have a bench of their own.
OUTLINES: tuple[Outline, ...] = tuple(o for o in get_args(Outline) if o != "scallop")
SIZES_MM = (200.0, 254.0, 304.8, 304.8, 406.4)
NARROWEST_MM = 8.0
#: What each condition changes: the drawing's own arguments, the width of the petals' line, the panel's paint.
CONDITIONS: dict[str, dict[str, Any]] = {
    "plain": {},
    "pencil": {"line": 0.5, "colour": "#707276", "cover": 0.7, "panel": "#f1efe9"},
    "thick": {"line": 1.9},
    "wiped": {"ghosts": 6},
    "half traced": {},
    "coarse": {"size": (1200, 900)},
    "pink on navy": {"colour": "#e79ab4", "panel": "#22305a"},
    "blue on white": {"colour": "#4f6fb0", "panel": "#eceae4"},
    "diagonals": {"diagonals": True},
    "dusty": {"cover": 0.55},
    "overlapping": {"under": True},
}


def traced_scene(seed: int, size_px: tuple[int, int] = (2048, 1536)) -> tuple[str, Drawing, Scene]:
    """What a seed stands for: its name, the drawing and the bench."""
    rng = np.random.default_rng([seed, 13])
    condition = list(CONDITIONS)[seed % len(CONDITIONS)]
    how = CONDITIONS[condition]
    side = float(rng.choice(SIZES_MM))
    segments = int(rng.integers(5, 25))
    outermost = side / 2 - rng.uniform(10, 16)
    count = int(rng.integers(1, 5))
    outline = OUTLINES[int(rng.integers(len(OUTLINES)))] if seed % 3 else OUTLINES[seed // 3 % len(OUTLINES)]
    half = tuple(range((segments + 1) // 2)) if condition == "half traced" else None
    rows = plan(rng, count, segments, outermost, outline, half, bool(how.get("under")))
    pitch = outermost / int(rng.integers(5, 9))
    width = how.get("line", 0.9)
    base = by_hand(
        seed,
        (side, side),
        segments,
        pitch,
        int(outermost / pitch),
        rotation_deg=float(rng.uniform(0, 360 / segments)),
        diagonals=how.get("diagonals", False),
        ghosts=how.get("ghosts", 0),
        width_mm=1.0 if width > 0.6 else 0.6,
        colour=how.get("colour", "#f2f0ea"),
        cover=how.get("cover", 0.85),
    )
    drawing = traced(base, rows, seed, width_mm=width)
    if condition == "wiped":
        # A row traced elsewhere first, then wiped.
        wrong = tuple(replace(row, tip_mm=row.tip_mm - 7, between=not row.between, short=None) for row in rows[:1])
        drawing = replace(drawing, ghosts=(*drawing.ghosts, *traced(base, wrong, seed + 1).petals))
    panel = Panel(side, side, colour=how["panel"]) if "panel" in how else None
    scene = ordinary_scene(seed, how.get("size", size_px), (side, side), panel=panel)
    kinds = "+".join(dict.fromkeys(row.outline for row in rows))
    return f"{condition}: {segments} x {len(rows)}, {kinds}, {side:.0f} mm", drawing, scene


def plan(
    rng: np.random.Generator,
    count: int,
    segments: int,
    outermost_mm: float,
    outline: Outline,
    only: tuple[int, ...] | None,
    under: bool,
) -> tuple[TracedRow, ...]:
    """Rows from the middle outwards; one petal of one of them is short."""
    first = outermost_mm * (rng.uniform(0.6, 0.9) if count == 1 else rng.uniform(0.42, 0.52))
    last = outermost_mm * rng.uniform(0.86, 0.98)
    tips = np.linspace(first, last, count) if count > 1 else np.array([first])
    start, alternate = bool(rng.random() < 0.5), rng.random() < 0.75
    rows: list[TracedRow] = []
    for tip in tips:
        base = (
            tip * rng.uniform(0.3, 0.5)
            if not rows
            else rows[-1].base_mm + rng.uniform(0.35, 0.7) * (rows[-1].tip_mm - rows[-1].base_mm)
        )
        share = float(rng.uniform(0.5, 0.95))
        base = float(max(min(base, tip - 20.0), 9.0))
        if 2 * share * base * np.tan(np.pi / segments) < NARROWEST_MM:
            # Nobody traces petals narrower than a finger: further in they are left out.
            continue
        between = start ^ (alternate and len(rows) % 2 == 1)
        rows.append(TracedRow(between, base, float(tip), outline, share, under and bool(rows), only))
    if not rows:
        rows = [TracedRow(start, 0.5 * float(tips[-1]), float(tips[-1]), outline, 0.95, only=only)]
    bad = int(rng.integers(len(rows)))
    spokes = only or tuple(range(segments))
    rows[bad] = replace(rows[bad], short=(int(rng.choice(spokes)), float(rng.uniform(5.5, 8.5))))
    return tuple(rows)
