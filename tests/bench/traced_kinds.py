"""Traced panels of sixteen kinds beyond outlines and chalk: rows begun, rows that touch, two petals a segment, arcs."""

from dataclasses import replace
from typing import Any

import numpy as np

from tests.bench.traced_scenes import NARROWEST_MM
from tests.render import Drawing, Panel, Scene, by_hand, ordinary_scene
from tests.render.drawing import Petal
from tests.render.tracing import Outline, TracedRow, TracingHand, traced

CHALK: dict[str, dict[str, Any]] = {
    "chalk": {"line": 0.9},
    "pencil on white": {"line": 0.5, "colour": "#707276", "cover": 0.7, "panel": "#f1efe9"},
    "white pencil on black": {"line": 0.5, "colour": "#d8d6d0", "cover": 0.65, "panel": "#1b1b1d"},
}
KINDS = (
    "one petal", "three petals", "half a row", "all but one", "second row begun", "ogee on spokes", "round ends",
    "narrow", "leaf", "lotus", "double stroke", "touching", "two a segment", "scallops", "four rows", "one row",
)  # fmt: skip


def traced_kind(seed: int, size_px: tuple[int, int] = (2048, 1536)) -> tuple[str, Drawing, Scene]:
    """What a seed stands for: its name, the drawing and the bench."""
    rng = np.random.default_rng([seed, 17])
    kind = KINDS[seed % len(KINDS)]
    chalk = list(CHALK)[int(rng.choice(3, p=(0.5, 0.25, 0.25)))]
    how = CHALK[chalk]
    side = float(rng.choice((254.0, 304.8, 304.8, 406.4)))
    segments = int(rng.integers(5, 25))
    outermost = side / 2 - float(rng.uniform(10, 16))
    pitch = outermost / int(rng.integers(5, 9))
    base = by_hand(
        seed, (side, side), segments, pitch, int(outermost / pitch),
        rotation_deg=float(rng.uniform(0, 360 / segments)), width_mm=1.0 if how["line"] > 0.6 else 0.6,
        colour=how.get("colour", "#f2f0ea"), cover=how.get("cover", 0.85),
    )  # fmt: skip
    drawing = _with_petals(kind, base, outermost, how["line"], seed, rng)
    panel = Panel(side, side, colour=how["panel"]) if "panel" in how else None
    scene = ordinary_scene(seed, size_px, (side, side), panel=panel)
    return f"{kind}: {segments}, {chalk}, {side:.0f} mm", drawing, scene


def _with_petals(
    kind: str, base: Drawing, outermost: float, line: float, seed: int, rng: np.random.Generator
) -> Drawing:
    n = base.segments
    outline: Outline = {
        "ogee on spokes": "ogee", "round ends": "arch", "leaf": "leaf", "scallops": "scallop",
    }.get(kind) or rng.choice(["pointed", "pointed", "ogee", "leaf"])  # fmt: skip
    count = {"four rows": 4, "one row": 1, "scallops": 1, "two a segment": 1, "one petal": 1, "three petals": 1}.get(
        kind, int(rng.integers(1, 4))
    )
    count = max(count, 2) if kind in ("second row begun", "lotus") else count
    share = {"narrow": rng.uniform(0.2, 0.4), "touching": 1.0, "scallops": 1.0}.get(kind, rng.uniform(0.5, 0.95))
    tips = outermost * (np.linspace(0.48, 0.93, count) if count > 1 else np.array([rng.uniform(0.6, 0.9)]))
    start = kind != "ogee on spokes" and bool(rng.random() < 0.5)
    rows: list[TracedRow] = []
    for k, tip in enumerate(tips):
        at = tip * rng.uniform(0.35, 0.5) if not rows else rows[-1].base_mm + 0.5 * (rows[-1].tip_mm - rows[-1].base_mm)
        at = float(max(min(at, tip - 20.0), 9.0))
        if kind == "scallops":
            at = float(tip - max(10.0, rng.uniform(0.45, 0.7) * 2 * tip * np.tan(np.pi / n)))
        if 2 * share * at * np.tan(np.pi / n) < NARROWEST_MM and outline != "leaf":
            at = min(NARROWEST_MM / (2 * share * np.tan(np.pi / n)), tip - 20.0)
        rows.append(TracedRow(start ^ bool(k % 2), at, float(tip), outline, float(share), kind == "lotus" and k > 0))
    first = int(rng.integers(n))
    begun = {"one petal": 1, "three petals": 3, "half a row": (n + 1) // 2, "all but one": n - 1}.get(kind)
    if begun:
        rows = [replace(row, only=tuple((first + j) % n for j in range(begun))) for row in rows]
    if kind == "second row begun":
        some = int(rng.integers(1, n))
        rows[-1] = replace(rows[-1], only=tuple((first + j) % n for j in range(some)))
    bad = int(rng.integers(len(rows)))
    spokes = rows[bad].only or tuple(range(n))
    if len(spokes) > 2:
        rows[bad] = replace(rows[bad], short=(int(rng.choice(spokes)), float(rng.uniform(5.5, 8.5))))
    if kind == "two a segment":
        return _two_a_segment(base, rows[0], line, seed)
    drawn = traced(base, tuple(rows), seed, width_mm=line)
    if kind == "double stroke":
        drawn = replace(drawn, petals=tuple(_twice(petal, rng) for petal in drawn.petals))
    return drawn


def _two_a_segment(base: Drawing, row: TracedRow, line: float, seed: int) -> Drawing:
    """A large petal and a small one in every segment, neither on a spoke nor halfway."""
    quarter = 90.0 / base.segments
    twice = replace(base, segments=2 * base.segments, rotation_deg=base.rotation_deg + quarter)
    pairs = [
        replace(row, between=False, only=tuple(range(k, twice.segments, 2)), tip_mm=row.tip_mm - 14 * k,
                short=(2, 6.0) if k == 0 else None)
        for k in (0, 1)
    ]  # fmt: skip
    return replace(base, petals=traced(twice, tuple(pairs), seed, width_mm=line).petals)


def _twice(petal: Petal, rng: np.random.Generator) -> Petal:
    """The petal's outline gone over a second time, up to half a millimetre beside the first."""
    hand = TracingHand()
    again = []
    for run in petal.paths():
        s = np.linspace(0, 1, len(run))
        way = np.gradient(run, axis=0)
        across = np.column_stack([-way[:, 1], way[:, 0]]) / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
        wave = sum(rng.normal(0, 1.5 * hand.waver_mm / k) * np.sin(np.pi * k * s) for k in (1, 2, 3))
        again.append(run + np.reshape(wave, (-1, 1)) * across)
    return replace(petal, drawn_mm=(*petal.paths(), *again))
