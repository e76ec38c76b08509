"""The sharp ends of strokes, along their fitted paths.

Chalk thins over the last millimetres of a stroke and then stops within some tenths: the last chalk before bare panel is
the end.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise
from aligncheck.marks.pieces import Pieces
from aligncheck.marks.reading import Reading, Scene
from aligncheck.marks.sampling import sample_rows

Floats = NDArray[np.float64]

#: Rows of the fine search, mm, no finer than half a pixel.
FINE_MM = 0.1
#: How far within and beyond the rough end the last chalk is looked for, mm.
WITHIN_MM, BEYOND_MM = 6.0, 9.0
#: Chalk is more than this part of the stroke's full chalk, and more than this many times the bare rows' scatter.
CHALK, SCATTERS = 0.12, 4.0
#: A stroke has ended where this much bare panel follows, mm.
BARE_MM = 2.0
#: Mean over this length, mm; the longer one on panels whose own pattern is strong.
MEAN_MM, ROUGH_PANEL_MM, ROUGH_PANEL = 0.3, 1.1, 0.075
#: Usual error of an end that was found sharply, and of one that was only found roughly, mm.
SHARP_SD_MM, ROUGH_SD_MM = 0.35, 2.5


@dataclass(frozen=True)
class Tips:
    """Distances (S,) along the paths where the strokes begin and end, and their standard deviations (S, 2)."""

    inner_mm: Floats
    outer_mm: Floats
    sd_mm: Floats


def find_tips(scene: Scene, reading: Reading, pieces: Pieces) -> Tips:
    """Find where every stroke begins and ends."""
    px_mm = 1 / float(scene.panel.px_per_mm(reading.paths.centre_mm))
    step = max(FINE_MM, 0.5 * px_mm)
    inward = np.arange(-WITHIN_MM, BEYOND_MM, step)
    path = pieces.path()
    chalk, _ = _chalk(scene, reading, path, pieces.outer_mm[:, None] + inward)
    outer, sharp_outer = _last_chalk(chalk, inward, step)
    inner_at = pieces.inner_mm[:, None] - inward
    chalk, bright = _chalk(scene, reading, path, inner_at)
    inner, sharp_inner = _last_chalk(chalk, inward, step)
    begin = pieces.inner_mm - inner
    common = _common_start(bright, inner_at, scene.first_mm)
    # Where neighbours run together their own ends cannot be seen: the layout's common start is taken.
    crowded = (begin < scene.first_mm + 1.0) | ~sharp_inner
    begin = np.where(crowded, common, begin) if np.isfinite(common) else np.maximum(begin, 0.0)
    sd = np.stack([np.where(crowded, ROUGH_SD_MM, SHARP_SD_MM), np.where(sharp_outer, SHARP_SD_MM, ROUGH_SD_MM)], 1)
    return Tips(begin, pieces.outer_mm + outer, sd)


def _chalk(scene: Scene, reading: Reading, path: Floats, at_mm: Floats) -> tuple[Floats, Floats]:
    """Chalk (S, n) at distances `at_mm` (S, n) along the paths: against the flanks, and against the panel."""
    paths, width = reading.paths, reading.profile.seen_mm
    middle = np.linspace(-0.42, 0.42, 5) * width
    flank = 0.5 * width + np.linspace(0.4, 1.2, 4)
    offsets = np.concatenate([-flank[::-1], middle, flank])
    points, normals = [], []
    for s in range(len(at_mm)):
        bend = np.interp(at_mm[s], paths.along_mm, path[s])
        normal = clockwise(paths.angle_deg[s])
        points.append(paths.points(s, at_mm[s]) + bend[:, None] * normal)
        normals.append(np.broadcast_to(normal, points[-1].shape))
    rows = sample_rows(scene.pixels, scene.panel, np.concatenate(points), np.concatenate(normals), offsets)
    values = rows if scene.mixture is None else rows @ np.asarray(scene.mixture, np.float32)
    values = scene.sign * values.reshape(*at_mm.shape, len(offsets))
    band, beside = values[..., 4:9].mean(2), 0.5 * (values[..., :4].mean(2) + values[..., 9:].mean(2))
    panel = np.median(beside, axis=1, keepdims=True)
    return (band - beside) / reading.full[:, None], (band - panel) / reading.full[:, None]


def _last_chalk(chalk: Floats, outward_mm: Floats, step: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Where (S,) along `outward_mm` (n,) the last chalk lies, and whether it was found."""
    bare = chalk[:, outward_mm > 3.0]
    noise = 1.4826 * float(np.median(np.abs(bare - np.median(bare))))
    length = ROUGH_PANEL_MM if noise > ROUGH_PANEL else MEAN_MM
    window = max(1, round(length / step))
    kernel = np.ones(window) / window
    smooth = np.stack([np.convolve(row, kernel, mode="same") for row in chalk])
    spread = 1.4826 * float(np.median(np.abs(smooth[:, outward_mm > 3.0])))
    marked = smooth > max(CHALK, SCATTERS * spread)
    gap = round(BARE_MM / step)
    ends = np.zeros(len(chalk))
    found = np.zeros(len(chalk), bool)
    start = int(np.searchsorted(outward_mm, 0.0))
    for s, row in enumerate(marked):
        places = np.nonzero(row)[0]
        if not len(places):
            continue
        # From the last mark within the rough end, outward until bare panel follows.
        inside = places[places <= start]
        last = int(inside[-1]) if len(inside) else int(places[0])
        for place in places[places > last]:
            if place - last > gap:
                break
            last = int(place)
        ends[s], found[s] = outward_mm[last] + 0.5 * step, last < len(row) - gap
    return ends, found


def _common_start(bright: Floats, at_mm: Floats, first_mm: float) -> float:
    """Distance from the centre at which the layout's strokes begin: where most of them turn from dark to bright."""
    grid = np.arange(max(0.5, at_mm.min()), at_mm.max(), 0.25)
    rows = [np.interp(grid, a[::-1], b[::-1], left=np.nan, right=np.nan) for a, b in zip(at_mm, bright, strict=True)]
    with np.errstate(all="ignore"):
        usual = np.nanmedian(np.stack(rows), axis=0) if rows else np.zeros(0)
    drawn = np.nan_to_num(usual) > 0.5 * max(float(np.nanmax(usual)) if len(usual) else 0.0, 0.3)
    if not drawn.any() or drawn.all():
        return float("nan")
    # The innermost distance from which on it stays bright for 2 mm.
    for k in range(len(grid) - 8):
        if drawn[k : k + 8].mean() > 0.85 and drawn[k]:
            return float(grid[k])
    return float("nan")
