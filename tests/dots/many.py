"""A piece of very many dots: rings of one size each, all the way out, in a few paints, drawn by the tests' renderer."""

from dataclasses import replace

import numpy as np

from tests.render import Dot, Drawing, Panel, Scene, by_hand, ordinary_scene

PAINTS = ("#c4383f", "#e7b93c", "#3c8cba", "#e2dccb", "#5fa05a")
#: Clear between dots, mm, and between the outermost ring and the panel's side.
GAP_MM, BORDER_MM = 1.0, 10.0
#: A hand's spread, mm, and of sizes (natural log).
HAND_MM, SIZES = 0.15, 0.02


def many_dots(count: int, panel_mm: float, segments: int, diameters_mm: tuple[float, float], seed: int = 0) -> Drawing:
    """`count` dots or up to a ring more, from a marked panel's middle outward, three of them left out.

    Each ring holds as many dots a segment as find room; sizes are drawn between `diameters_mm`.
    """
    rng = np.random.default_rng([seed, 31])
    marks = by_hand(seed, (panel_mm, panel_mm), segments, pitch_mm=panel_mm / 24, ghosts=0)
    dots: list[Dot] = []
    radius = 12.0
    while len(dots) < count:
        size = float(rng.uniform(*diameters_mm))
        radius += size / 2
        if radius > panel_mm / 2 - BORDER_MM:
            raise ValueError(f"{count} dots do not fit on {panel_mm:g} mm")
        each = max(1, int(2 * np.pi * radius / segments / (size + GAP_MM)))
        paint, name = str(rng.choice(PAINTS)), f"ring {len({d.group for d in dots}) + 1}"
        dots += _ring(rng, marks.centre_mark_mm, radius, Dot((0.0, 0.0), size, paint, name), each * segments)
        radius += size / 2 + GAP_MM
    gone = set(rng.choice(len(dots), 3, replace=False).tolist())
    kept = tuple(dot for k, dot in enumerate(dots) if k not in gone)
    return replace(marks, dots=kept, missing_dots=tuple(dots[k] for k in sorted(gone)))


def _ring(rng: np.random.Generator, centre: tuple[float, float], radius: float, like: Dot, count: int) -> list[Dot]:
    angle = (np.arange(count) + rng.uniform()) * (2 * np.pi / count)
    at = radius * np.stack([np.sin(angle), -np.cos(angle)], -1) + centre + rng.normal(0, HAND_MM, (count, 2))
    sizes = like.diameter_mm * np.exp(rng.normal(0, SIZES, count))
    return [
        replace(like, centre_mm=(float(x), float(y)), diameter_mm=float(d), index=k)
        for k, ((x, y), d) in enumerate(zip(at, sizes, strict=True))
    ]


def scene_of(panel_mm: float, size_px: tuple[int, int], seed: int = 0) -> Scene:
    """A dark panel of that size, seen nearly from above and filling most of the photo."""
    panel = Panel(panel_mm, panel_mm, colour="#262627")
    return ordinary_scene(seed, size_px, (panel_mm, panel_mm), most_tilt_deg=8.0, panel=panel)
