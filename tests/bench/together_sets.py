"""Panels that several photos show: boards and canvases, every photo by a phone of its own, from a place of its own."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tests.bench.coverage_panels import as_made
from tests.render import Drawing, Panel, Scene, by_hand, ordinary_scene, photograph
from tests.render.scenes import PAINTS

#: Kinds of sets in turn: thickness of the panels (one of these, mm), and whether the painter tells it.
KINDS = {
    "boards told": ((3.0, 4.0), True),
    "boards untold": ((3.0, 4.0), False),
    "canvases told": ((18.0, 38.0), True),
    "canvases untold": ((18.0, 38.0), False),
}
FEWEST, MOST = 2, 4


@dataclass(frozen=True)
class PanelSet:
    """One panel with its drawing and the scenes that it is photographed in; `depth_mm` as told, or None."""

    kind: str
    seed: int
    drawing: Drawing
    scenes: tuple[Scene, ...]
    depth_mm: float | None

    def photos(self, folder: Path) -> Iterator[Path]:
        """The photos, taken if they are not in `folder` yet."""
        folder.mkdir(parents=True, exist_ok=True)
        for k, scene in enumerate(self.scenes):
            path = folder / f"{self.kind.replace(' ', '-')}-{self.seed}-{k}.jpg"
            if not path.with_suffix(".json").exists():
                photograph(self.drawing, scene, 10 * self.seed + k).save(path)
            yield path


def panel_set(seed: int, size_px: tuple[int, int]) -> PanelSet:
    """The set of this seed: kinds come in turn. Every second panel stays under one lamp, on one table."""
    rng = np.random.default_rng([seed, 57])
    kind = list(KINDS)[seed % len(KINDS)]
    depths, told = KINDS[kind]
    depth = float(rng.choice(depths))
    side = None if rng.random() < 0.6 else "#a98a5f"
    paint = list(PAINTS.values())[rng.integers(len(PAINTS))]
    panel = as_made(Panel(depth_mm=depth, colour=paint, side_colour=side), rng)
    scenes = [
        ordinary_scene(10 * seed + k, size_px, most_tilt_deg=25.0, panel=panel)
        for k in range(int(rng.integers(FEWEST, MOST + 1)))
    ]
    if (seed // len(KINDS)) % 2:
        scenes = [replace(s, light=scenes[0].light, table=scenes[0].table) for s in scenes]
    segments = int(rng.choice([8, 10, 12, 12, 16]))
    drawing = by_hand(seed, segments=segments, rotation_deg=float(rng.uniform(0, 360 / segments)))
    return PanelSet(kind, seed, drawing, tuple(scenes), depth if told else None)
