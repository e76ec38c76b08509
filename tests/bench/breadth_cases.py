"""Scenes of other kinds than those that the search for the panel was written on: other tables, sizes, lenses, clutter.

Each kind makes a photo from a seed; what a painter's photo may hold, and what must not be taken for the panel.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.bench.clutter import cup, desk, hand, neighbour, plate, ruler
from tests.render import Drawing, Light, Panel, Scene, Slab, Table, Tray, by_hand, ordinary_scene
from tests.render.hand import Hand
from tests.render.scenes import PAINTS

Size = tuple[int, int]
Made = tuple[Drawing, Scene]
Build = Callable[[int, Size], Made]

FOOT = (304.8, 304.8)


@dataclass(frozen=True)
class Kind:
    """A kind of scene by name, how to make one, and the photo's size where it is special."""

    name: str
    build: Build
    size_px: Size = (2048, 1536)


def _rng(seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, 61])


def _drawing(seed: int, size_mm: tuple[float, float] = FOOT, **how: Any) -> Drawing:
    """A drawing to the size of the panel."""
    rng, short = _rng(seed), min(size_mm)
    segments, rings = int(rng.choice([6, 8, 10, 12, 16])), int(rng.integers(4, 9))
    scale = (short / 304.8) ** 0.5
    hand = Hand(0.8 * scale, 0.35, 0.35 * scale, 1.5 * scale, 0.35 * scale, 0.3 * scale)
    pitch = round(0.41 * short / (rings + 0.5), 2)
    default = {"rotation_deg": float(rng.uniform(0, 360 / segments)), "width_mm": 0.9 * scale, "hand": hand}
    return by_hand(seed, size_mm, segments, pitch, rings, **(default | how))


def _on(table: Table) -> Build:
    def build(seed: int, size: Size) -> Made:
        turned = replace(table, turn_deg=float(_rng(seed).uniform(-45, 45)))
        return _drawing(seed), replace(ordinary_scene(seed, size), table=turned)

    return build


def _sized(*sizes_mm: tuple[float, float]) -> Build:
    def build(seed: int, size: Size) -> Made:
        mm = sizes_mm[seed % len(sizes_mm)]
        return _drawing(seed, mm), ordinary_scene(seed, size, mm)

    return build


def _alike(panel: str, table: str, chalk: str) -> Build:
    """A panel the colour of what it lies on; only its shadow and its weave set it off."""

    def build(seed: int, size: Size) -> Made:
        rng = _rng(seed)
        depth = float(rng.choice([3.0, 18.0]))
        scene = ordinary_scene(seed, size, panel=Panel(depth_mm=depth, colour=panel))
        exposure = 0.6 if panel > "#800000" else 0.95
        finish = replace(scene.finish, exposure=exposure)
        kind = "cloth" if rng.random() < 0.5 else "plain"
        scene = replace(scene, table=Table(kind, table, strength=0.08), finish=finish)
        return _drawing(seed, colour=chalk, ghosts=2), scene

    return build


def _covered(what: Callable[[np.random.Generator, Panel], Any]) -> Build:
    """Something lies over a part of the panel's sides."""

    def build(seed: int, size: Size) -> Made:
        scene = ordinary_scene(seed, size)
        return replace(_drawing(seed), things=what(_rng(seed), scene.panel)), scene

    return build


def _beside(what: Callable[[np.random.Generator, Panel], Any], fill: float = 0.6) -> Build:
    """Flat things around the panel."""

    def build(seed: int, size: Size) -> Made:
        scene, rng = ordinary_scene(seed, size), _rng(seed)
        table = replace(scene.table, slabs=what(rng, scene.panel))
        seen = {"tilt_deg": float(rng.uniform(3, 28)), "azimuth_deg": float(rng.normal(180, 50)), "f35_mm": 26.0}
        scene = replace(scene, table=table).seen(size, fill=fill, roll_deg=float(rng.normal(0, 6)), **seen)
        return _drawing(seed), scene

    return build


def _plate(seed: int, size: Size) -> Made:
    drawing, scene = _beside(lambda rng, panel: (), 0.55)(seed, size)
    return replace(drawing, things=plate(_rng(seed), scene.panel)), scene


def _shaded(seed: int, size: Size) -> Made:
    scene, rng = ordinary_scene(seed, size), _rng(seed)
    x, y = rng.uniform(-160, 160, 2)
    across = (float(x), float(y), float(rng.uniform(0, 360)), float(rng.uniform(2, 12)), 0.65)
    return _drawing(seed), replace(scene, light=replace(scene.light, across=across))


def _vignette(seed: int, size: Size) -> Made:
    scene = ordinary_scene(seed, size)
    return _drawing(seed), replace(scene, finish=replace(scene.finish, vignette=0.6))


def _wide(seed: int, size: Size) -> Made:
    """The ultra-wide camera, its barrel half corrected."""
    rng = _rng(seed)
    scene = ordinary_scene(seed, size).seen(
        size,
        f35_mm=float(rng.uniform(13, 16)),
        tilt_deg=float(rng.uniform(2, 25)),
        azimuth_deg=float(rng.normal(180, 60)),
        roll_deg=float(rng.normal(0, 6)),
        fill=float(rng.uniform(0.55, 0.8)),
        k1=float(rng.normal(-0.03, 0.02)),
        k2=float(rng.normal(0.005, 0.005)),
    )
    return _drawing(seed), scene


def _tilted(seed: int, size: Size) -> Made:
    rng = _rng(seed)
    scene = ordinary_scene(seed, size).seen(
        size,
        f35_mm=26.0,
        tilt_deg=float(rng.uniform(29, 35)),
        azimuth_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.uniform(-44, 44)),
        fill=0.78,
        k1=float(rng.normal(0, 0.02)),
    )
    return _drawing(seed), scene


def _untold(seed: int, size: Size) -> Made:
    scene = ordinary_scene(seed, size)
    return _drawing(seed), replace(scene, finish=replace(scene.finish, f35_in_exif=False, make=None, model=None))


def _cropped(seed: int, size: Size) -> Made:
    """Cut out of a larger photo, off its middle; the file still states the whole photo's lens in one of two."""
    rng = _rng(seed)
    scene = ordinary_scene(seed, size)
    whole = scene.camera
    assert whole is not None
    spots = whole.project_plane(scene.panel.corners_mm)
    low, high = spots.min(0), spots.max(0)
    left, top = (int(v) for v in np.maximum(low - rng.uniform(20, 120, 2), 0))
    right, bottom = (int(v) for v in np.minimum(high + rng.uniform(20, 120, 2), size))
    cut = replace(whole, width_px=right - left, height_px=bottom - top, cx=whole.cx - left, cy=whole.cy - top)
    stale = whole.f35_mm if seed % 2 else None
    return _drawing(seed), replace(scene, camera=cut, finish=replace(scene.finish, f35_mm=stale, orientation=1))


def _zoomed(seed: int, size: Size) -> Made:
    """Digital zoom: a long lens, soft, sharpened, fewer true pixels."""
    rng = _rng(seed)
    scene = ordinary_scene(seed, size)
    finish = replace(scene.finish, blur_px=float(rng.uniform(1.4, 2.2)), noise=0.006, sharpen=0.6, jpeg_quality=82)
    how = {"tilt_deg": float(rng.uniform(2, 25)), "azimuth_deg": float(rng.normal(180, 60)), "fill": 0.75}
    return _drawing(seed), replace(scene, finish=finish).seen(size, f35_mm=float(rng.uniform(48, 80)), **how)


def _easel(seed: int, size: Size) -> Made:
    """On an easel before a cluttered wall far behind."""
    rng = _rng(seed)
    scene = ordinary_scene(seed, size, panel=Panel(depth_mm=18.0, colour=list(PAINTS.values())[seed % 5]))
    behind = replace(scene.table, slabs=desk(rng, scene.panel), below_mm=float(rng.uniform(200, 900)), turn_deg=0.0)
    how = {"tilt_deg": float(rng.uniform(2, 20)), "azimuth_deg": float(rng.uniform(0, 360)), "f35_mm": 26.0}
    return _drawing(seed), replace(scene, table=behind).seen(size, fill=0.6, **how)


def _tray(seed: int, size: Size) -> Made:
    rng = _rng(seed)
    depth = float(rng.choice([4.0, 18.0]))
    scene = ordinary_scene(seed, size, panel=Panel(depth_mm=depth, colour=list(PAINTS.values())[seed % 5]))
    tray = Tray(float(rng.uniform(3, 8)), float(rng.uniform(10, 30)), float(rng.uniform(0, 8)))
    colour = str(rng.choice(["#1a1a1a", "#6b4a2c", "#e8e4da", "#c8a468"]))
    return _drawing(seed), replace(scene, tray=replace(tray, colour=colour))


def _board(seed: int, size: Size) -> Made:
    """On a square board or sheet a quarter to three quarters larger."""
    rng = _rng(seed)
    larger = float(rng.uniform(1.25, 1.75))
    scene = ordinary_scene(seed, size)
    scene = scene.seen(size, f35_mm=26.0, tilt_deg=float(rng.uniform(2, 24)), fill=0.85 / larger)
    at = float(rng.normal(0, 8)), float(rng.normal(0, 8))
    colour = str(rng.choice(["#e9e6df", "#7a7f86", "#101010", "#c8a468"]))
    board = Slab(at, (304.8 * larger, 304.8 * larger), float(rng.normal(0, 3)), colour)
    return _drawing(seed), replace(scene, table=replace(scene.table, slabs=(board,)))


def _band(from_mm: tuple[float, float], wide_mm: tuple[float, float]) -> Build:
    """A band painted along the sides, with the panel's ground beyond it."""

    def build(seed: int, size: Size) -> Made:
        rng, scene = _rng(seed), ordinary_scene(seed, size, most_tilt_deg=25)
        wide = float(rng.uniform(*wide_mm))
        side = FOOT[0] - 2 * float(rng.uniform(*from_mm))
        colour, off = str(rng.choice(["#d8a020", "#e8e4da", "#a03028", "#3a6fb0"])), (side - wide) / 2
        places = [(0, -off, side, wide), (0, off, side, wide), (-off, 0, wide, side), (off, 0, wide, side)]
        slabs = tuple(Slab((x, y), (w, h), 0.0, colour, over_panel=True) for x, y, w, h in places)
        return _drawing(seed), replace(scene, table=replace(scene.table, slabs=slabs))

    return build


def _turntable(seed: int, size: Size) -> Made:
    """On a round turntable, larger or smaller than the panel."""
    scene, rng = ordinary_scene(seed, size), _rng(seed)
    across, sides, colour = float(rng.uniform(180, 430)), 18, str(rng.choice(["#303034", "#c8a468", "#e8e4da"]))
    centre = (float(rng.normal(0, 12)), float(rng.normal(0, 12)))
    a = np.pi / (2 * sides)
    bars = (across * float(np.cos(a)), across * float(np.sin(a)))
    slabs = tuple(Slab(centre, bars, k * 180 / sides, colour) for k in range(sides))
    return _drawing(seed), replace(scene, table=replace(scene.table, slabs=slabs))


def _dim(seed: int, size: Size) -> Made:
    """Little light: much noise, strong compression."""
    scene = ordinary_scene(seed, size)
    dark = replace(scene.finish, exposure=0.3, noise=0.03, jpeg_quality=75, sharpen=0.5)
    return _drawing(seed), replace(scene, finish=dark)


def _harsh(seed: int, size: Size) -> Made:
    """A low lamp: long hard shadows of the panel itself."""
    scene, rng = ordinary_scene(seed, size), _rng(seed)
    a = rng.uniform(0, 2 * np.pi)
    at = float(900 * np.sin(a)), float(900 * np.cos(a)), float(rng.uniform(250, 500))
    light = Light(at, ambient=0.3, contact=0.6, cast=0.7, penumbra=float(rng.uniform(0.05, 0.4)))
    deep = replace(scene.panel, depth_mm=float(rng.choice([6.0, 19.0])))
    return _drawing(seed), replace(scene, light=light, panel=deep)


KINDS = [
    Kind("planks", _on(Table("planks", "#b08a5a", strength=0.22))),
    Kind("tiles", _on(Table("tiles", "#b9b4aa", strength=0.1))),
    Kind("newsprint", _on(Table("newsprint", "#d9d6cc", strength=0.25))),
    Kind("stripes", _on(Table("stripes", "#c9c0ae", strength=0.25))),
    Kind("terrazzo", _on(Table("terrazzo", "#a8a29a", strength=0.25))),
    Kind("carpet", _on(Table("carpet", "#7a6a5a", strength=0.35))),
    Kind("mat", _on(Table("mat", "#2f5f4f", strength=0.06))),
    Kind("a4", _sized((210.0, 297.0), (297.0, 210.0), (210.0, 297.0))),
    Kind("long", _sized((254.0, 508.0), (508.0, 254.0), (150.0, 450.0))),
    Kind("tiny", _sized((100.0, 100.0), (101.6, 152.4))),
    Kind("huge", _sized((1200.0, 1200.0), (1200.0, 800.0), (900.0, 900.0))),
    Kind("white on white", _alike("#e9e7e2", "#e4e2dd", "#55555a")),
    Kind("black on black", _alike("#161617", "#18181a", "#e8e6e0")),
    Kind("hand over a side", _covered(lambda rng, panel: hand(rng, panel, corner=False))),
    Kind("hand over a corner", _covered(lambda rng, panel: hand(rng, panel, corner=True))),
    Kind("cup over a corner", _covered(cup)),
    Kind("ruler along a side", _covered(ruler)),
    Kind("shadow across", _shaded),
    Kind("vignette", _vignette),
    Kind("ultra wide", _wide),
    Kind("tilted and rolled", _tilted),
    Kind("no EXIF", _untold),
    Kind("cropped", _cropped),
    Kind("zoomed", _zoomed),
    Kind("easel", _easel),
    Kind("tray", _tray),
    Kind("larger board", _board),
    Kind("neighbour", _beside(neighbour)),
    Kind("desk", _beside(desk)),
    Kind("far", _beside(desk, 0.5)),
    Kind("plate", _plate),
    Kind("dim", _dim),
    Kind("harsh light", _harsh),
    Kind("two megapixels", _sized(FOOT), (1632, 1224)),
    Kind("twelve megapixels", _on(Table("planks", "#8a6a4a", strength=0.25)), (4032, 3024)),
    Kind("painted band", _band((3, 14), (1.5, 6))),
    Kind("broad painted band", _band((5, 25), (6, 25))),
    Kind("turntable", _turntable),
]
