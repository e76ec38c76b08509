"""The conditions under which claims are held against truth: each a kind of drawing on a kind of scene."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.render import Drawing, Light, Panel, Scene, Table, by_hand, ordinary_scene
from tests.render.hand import Hand
from tests.render.scenes import out_of_square

Build = Callable[[int, tuple[int, int]], tuple[Drawing, Scene]]


@dataclass(frozen=True)
class Case:
    """A condition by name, and how to make one photo of it from a seed."""

    name: str
    build: Build


def _pick(seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, 31])


def _layout(seed: int) -> dict[str, float]:
    rng = _pick(seed)
    segments = int(rng.choice([8, 10, 12, 12, 16]))
    return {"segments": segments, "rotation_deg": float(rng.uniform(0, 360 / segments))}


def _plain(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    return by_hand(seed, **_layout(seed)), ordinary_scene(seed, size, most_tilt_deg=15)


def _tilted(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    scene = ordinary_scene(seed, size)
    return by_hand(seed, **_layout(seed)), scene.seen(size, tilt_deg=_pick(seed).uniform(24, 34), fill=0.8, f35_mm=26)


def _two_strokes(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    drawing = by_hand(seed, rings=6, pitch_mm=12.7, two_strokes=True, **_layout(seed))
    return drawing, ordinary_scene(seed, size)


def _diagonals(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    return by_hand(seed, diagonals=True, **_layout(seed)), ordinary_scene(seed, size)


def _deep(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    scene = ordinary_scene(seed, size)
    deep = replace(scene.panel, depth_mm=36.0, corner_shift_mm=out_of_square(_pick(seed), 36.0))
    return by_hand(seed, **_layout(seed)), replace(scene, panel=deep)


def _pencil(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    drawing = by_hand(seed, colour="#4a4a50", width_mm=0.7, cover=0.75, ghosts=2, **_layout(seed))
    wood = Panel(colour="#d9bd92", surface="wood", surface_strength=0.1)
    scene = replace(ordinary_scene(seed, size, panel=wood), table=Table("plain", "#6d6f72", strength=0.1))
    return drawing, scene


def _freehand(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    hand = Hand(bow_mm=0.15, wave_mm=0.2)
    return by_hand(seed, hand=hand, stencil=False, **_layout(seed)), ordinary_scene(seed, size)


def _glare(seed: int, size: tuple[int, int]) -> tuple[Drawing, Scene]:
    scene = ordinary_scene(seed, size)
    at = _pick(seed).uniform(-120, 120, 2)
    light = Light(scene.light.at_mm, ambient=0.4, glare=0.35, glare_at_mm=(float(at[0]), float(at[1])), glare_mm=70)
    return by_hand(seed, **_layout(seed)), replace(scene, light=light)


CASES = [
    Case("plain", _plain),
    Case("tilted", _tilted),
    Case("two strokes", _two_strokes),
    Case("diagonals", _diagonals),
    Case("deep", _deep),
    Case("pencil", _pencil),
    Case("freehand", _freehand),
    Case("glare", _glare),
]
