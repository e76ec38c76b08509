"""The conditions under which claims are held against truth: each a kind of drawing on a kind of scene.

Every condition has panels and scenes of its own, so that one panel badly cut does not show in all of them. Panels, and
where a stencil lies, are drawn from what the tool believes of them (`tests.bench.coverage_panels`): whether an
inference is right shows on draws from its own priors (Cook, Gelman and Rubin, J. Comput. Graph. Stat. 15 (2006) 675).
Whether panels and hands are like that is for photos of others to tell.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from aligncheck.marks.centre import AIM_SD_MM
from tests.bench.coverage_panels import as_made, usual_depth_mm
from tests.render import Drawing, Light, Panel, Scene, Slab, Table, by_hand, ordinary_scene
from tests.render.hand import Hand
from tests.render.scenes import PAINTS

Size = tuple[int, int]
Build = Callable[[int, Size], tuple[Drawing, Scene]]


@dataclass(frozen=True)
class Case:
    """A condition by name, and how to make one photo of it from a seed.

    `told`: whether the painter gives the thickness; every second one does where it is None, whatever it is. Were
    canvases always told, only boards would be left of the panels of unknown thickness, whose intervals allow for
    canvases too.
    """

    name: str
    build: Build
    told: bool | None = None

    def depth_told_mm(self, seed: int, scene: Scene) -> float | None:
        """The thickness as the painter gives it for this photo, or None."""
        told = seed % 2 == 1 if self.told is None else self.told
        return scene.panel.depth_mm if told else None


def seed_of(case: Case, number: int) -> int:
    """The seed of the `number`th photo of a condition."""
    return 1000 * (1 + [c.name for c in CASES].index(case.name)) + number


def _pick(seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, 31])


def _layout(seed: int) -> dict[str, Any]:
    rng = _pick(seed)
    segments = int(rng.choice([8, 10, 12, 12, 16]))
    return {"segments": segments, "rotation_deg": float(rng.uniform(0, 360 / segments))}


def _drawn(seed: int, **how: Any) -> Drawing:
    drawing = by_hand(seed, **(_layout(seed) | how))
    if drawing.diagonals:
        return drawing
    # A stencil lies beside the mark by as much as the tool believes.
    x, y = np.random.default_rng([seed, 51]).normal(0, AIM_SD_MM, 2)
    cross = tuple(((a + x, b + y), (c + x, d + y)) for (a, b), (c, d) in drawing.centre_cross)
    mark = drawing.centre_mark_mm[0] + x, drawing.centre_mark_mm[1] + y
    return replace(drawing, centre_mark_mm=mark, centre_cross=cross)


def _scene(
    seed: int, size: Size, panel_mm: tuple[float, float] = (304.8, 304.8), panel: Panel | None = None, **how: Any
) -> Scene:
    """An ordinary scene whose panel is made as panels are."""
    scene, rng = ordinary_scene(seed, size, panel_mm, panel=panel, **how), np.random.default_rng([seed, 41])
    chosen = scene.panel if panel is not None else replace(scene.panel, depth_mm=usual_depth_mm(rng))
    return replace(scene, panel=as_made(chosen, rng))


def _plain(seed: int, size: Size) -> tuple[Drawing, Scene]:
    return _drawn(seed), _scene(seed, size, most_tilt_deg=15)


def _tilted(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene = _scene(seed, size)
    return _drawn(seed), scene.seen(size, tilt_deg=_pick(seed).uniform(24, 34), fill=0.8, f35_mm=26)


def _two_strokes(seed: int, size: Size) -> tuple[Drawing, Scene]:
    return _drawn(seed, rings=6, two_strokes=True), _scene(seed, size)


def _diagonals(seed: int, size: Size) -> tuple[Drawing, Scene]:
    return _drawn(seed, diagonals=True), _scene(seed, size)


def _deep(seed: int, size: Size) -> tuple[Drawing, Scene]:
    rng = _pick(seed)
    depth = float(rng.choice([18.0, 38.0]))
    canvas = Panel(depth_mm=depth, colour=list(PAINTS.values())[rng.integers(len(PAINTS))])
    return _drawn(seed), _scene(seed, size, panel=canvas)


def _pencil(seed: int, size: Size) -> tuple[Drawing, Scene]:
    wood = Panel(colour="#d9bd92", surface="wood", surface_strength=0.1)
    scene = replace(_scene(seed, size, panel=wood), table=Table("plain", "#6d6f72", strength=0.1))
    return _drawn(seed, colour="#4a4a50", width_mm=0.7, cover=0.75, ghosts=2), scene


def _freehand(seed: int, size: Size) -> tuple[Drawing, Scene]:
    return _drawn(seed, hand=Hand(bow_mm=0.15, wave_mm=0.2), stencil=False), _scene(seed, size)


def _glare(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene = _scene(seed, size)
    at = _pick(seed).uniform(-120, 120, 2)
    light = Light(scene.light.at_mm, ambient=0.4, glare=0.35, glare_at_mm=(float(at[0]), float(at[1])), glare_mm=70)
    return _drawn(seed), replace(scene, light=light)


def _same_colour(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene = _scene(seed, size, most_tilt_deg=18)
    table = Table("cloth", scene.panel.colour, strength=0.15)
    return _drawn(seed), replace(scene, table=table)


def _sheet(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene = _scene(seed, size, most_tilt_deg=20)
    larger = 304.8 * _pick(seed).uniform(1.04, 1.3)
    under = Slab((3.0, -2.0), (larger, larger), float(_pick(seed).normal(0, 2)), "#e9e6df")
    return _drawn(seed), replace(scene, table=replace(scene.table, slabs=(under,)))


def _border(seed: int, size: Size) -> tuple[Drawing, Scene]:
    border = float(_pick(seed).uniform(5, 14))
    return _drawn(seed, border_mm=border, diagonals=seed % 2 == 0), _scene(seed, size, most_tilt_deg=22)


def _small(seed: int, size: Size) -> tuple[Drawing, Scene]:
    side = (101.6, 101.6)
    drawing = _drawn(
        seed, panel_mm=side, pitch_mm=6.35, rings=5, width_mm=0.7, hand=Hand(0.4, 0.5, 0.2, 0.8, 0.2, 0.15)
    )
    return drawing, _scene(seed, size, side)


def _large(seed: int, size: Size) -> tuple[Drawing, Scene]:
    side = (609.6, 457.2)
    return _drawn(seed, panel_mm=side, pitch_mm=25.4, rings=7, width_mm=1.6), _scene(seed, size, side)


def _shadow(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene, rng = _scene(seed, size), _pick(seed)
    x, y = rng.uniform(-130, 130, 2)
    across = (float(x), float(y), float(rng.uniform(0, 360)), float(rng.uniform(4, 30)), 0.5)
    return _drawn(seed), replace(scene, light=replace(scene.light, across=across))


def _ruler(seed: int, size: Size) -> tuple[Drawing, Scene]:
    scene, rng = _scene(seed, size), _pick(seed)
    a = np.radians(90 * rng.integers(4) + rng.uniform(-12, 12))
    at = float(165 * np.sin(a)), float(-165 * np.cos(a))
    ruler = Slab(at, (30.0, 180.0), float(rng.uniform(0, 180)), "#cfc9b8", over_panel=True)
    return _drawn(seed, rings=7), replace(scene, table=replace(scene.table, slabs=(ruler,)))


CASES = [
    Case("plain", _plain),
    Case("tilted", _tilted),
    Case("two strokes", _two_strokes),
    Case("diagonals", _diagonals),
    Case("deep", _deep, told=True),
    Case("pencil", _pencil),
    Case("freehand", _freehand),
    Case("glare", _glare),
    Case("same colour", _same_colour),
    Case("sheet under", _sheet),
    Case("border", _border),
    Case("small", _small),
    Case("large", _large),
    Case("shadow", _shadow),
    Case("ruler", _ruler),
    # As panels come, one in five a canvas, and nobody says which.
    Case("untold", _plain, told=False),
]
