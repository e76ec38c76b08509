"""The sharp ends of strokes, along their fitted paths.

Chalk thins over the last millimetres of a stroke and then stops within some tenths: the last chalk before bare panel is
the end.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise
from aligncheck.geometry.small import median, medians
from aligncheck.marks.paths import Paths
from aligncheck.marks.pieces import Pieces
from aligncheck.marks.reading import Reading, Scene
from aligncheck.marks.sampling import sample_rows

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Rows of the fine search, mm, no finer than half a pixel.
FINE_MM = 0.1
#: How far within and beyond the rough end the last chalk is looked for, mm.
WITHIN_MM, BEYOND_MM = 6.0, 9.0
#: Chalk is more than this part of the stroke's full chalk, and more than this many times the bare rows' scatter.
CHALK, SCATTERS = 0.12, 4.0
#: Chalk thins over the last millimetres to this part of the stroke's own, as the hand lifts, and ends there: a higher
#: threshold is crossed before the end.
TAPER_MM, TAPER_TO = 2.3, 0.2
#: Rings are known to this before they are measured, mm.
RING_MM = 0.4
#: A stroke has ended where this much bare panel follows, mm.
BARE_MM = 2.0
#: Mean over this length, mm; the longer one on panels whose own pattern is strong.
MEAN_MM, ROUGH_PANEL_MM, ROUGH_PANEL = 0.3, 1.1, 0.075
#: Usual error of an outer end whose chalk is strong to the last, of a beginning, where neighbours stand closer, and of
#: an end that was only found roughly, mm (rendered panels of two kinds). Where chalk thins out, how far the hand went
#: is open by as much as the threshold lies before the end of the thinning.
SHARP_SD_MM, BEGIN_SD_MM, ROUGH_SD_MM = 0.25, 0.7, 2.5
#: An own beginning further than this from the layout's common one is not believed, mm.
NEAR_COMMON_MM = 4.0
#: The end of a stroke with a line along it, or not sharply seen, is the line's or the grain's where it lies this much
#: beyond the other strokes' ends, mm.
RUNS_ON_MM = 2.5
#: Beginnings of one layout lie off the one that is found for all by about this, mm.
COMMON_SD_MM = 1.2
#: What chalk near the centre, where neighbours touch, counts for the spokes' beginning.
CENTRES_PART = 0.1


class Tips(NamedTuple):
    """Distances (S,) along the paths where the strokes begin and end, and their standard deviations (S, 2)."""

    inner_mm: Floats
    outer_mm: Floats
    sd_mm: Floats


def find_tips(scene: Scene, reading: Reading, pieces: Pieces, joint: Bools) -> Tips:
    """Find where every stroke begins and ends; `joint` (S,) have another line along them, which may run on."""
    px_mm = 1 / float(scene.panel.px_per_mm(reading.paths.centre_mm))
    step = max(FINE_MM, 0.5 * px_mm)
    inward = np.arange(-WITHIN_MM, BEYOND_MM, step)
    path = pieces.path()
    at_mm = pieces.outer_mm[:, None] + inward
    outer, sharp_outer, open_mm = _last_chalk(
        _chalk(scene, reading, path, at_mm), inward, step, _under_rings(scene, reading, at_mm)
    )
    end = pieces.outer_mm + outer
    # Beside another line, and on grain as strong as chalk, a stroke seems to run on where it has ended.
    doubtful = joint | ~sharp_outer
    if doubtful.any() and not joint.all():
        sure = end[~doubtful] if (~doubtful).sum() > 2 else end[~joint]
        usual = median(sure)
        # Where one of the sure strokes is as long, so may this one be.
        alone = np.abs(end[:, None] - sure).min(1) > RUNS_ON_MM
        runs_on = doubtful & (end > usual + RUNS_ON_MM) & alone
        end, sharp_outer = np.where(runs_on, usual, end), sharp_outer & ~runs_on
    common, common_sd = common_start(scene, reading, pieces)
    start = np.where(np.abs(pieces.inner_mm - common) < NEAR_COMMON_MM, pieces.inner_mm, common)
    at_mm = start[:, None] - inward
    inner, sharp_inner, _ = _last_chalk(
        _chalk(scene, reading, path, at_mm), inward, step, _under_rings(scene, reading, at_mm)
    )
    begin = start - inner
    # Where neighbours run together a spoke's own end cannot be seen: the layout's common start is taken.
    crowded = ~sharp_inner | (begin < scene.first_mm) | (np.abs(begin - common) > NEAR_COMMON_MM)
    begin = np.where(crowded, common, begin)
    outer_sd = np.where(sharp_outer, np.hypot(SHARP_SD_MM, open_mm), ROUGH_SD_MM)
    sd = np.stack([np.where(crowded, common_sd, BEGIN_SD_MM), outer_sd], 1)
    return Tips(begin, end, sd)


def _chalk(scene: Scene, reading: Reading, path: Floats, at_mm: Floats) -> Floats:
    """Chalk (S, n) at distances `at_mm` (S, n) along the paths, in units of a well drawn row."""
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
    return np.asarray((band - beside) / reading.full[:, None], float)


def _under_rings(scene: Scene, reading: Reading, at_mm: Floats) -> Bools:
    """Whether rings' chalk hides the stroke at distances `at_mm` (S, n)."""
    radius = np.hypot(at_mm, reading.paths.miss_mm[:, None])
    gap = np.abs(radius[..., None] - scene.rings_mm).min(2, initial=np.inf)
    return np.asarray(gap < 0.5 * reading.profile.seen_mm + RING_MM, bool)


def _last_chalk(chalk: Floats, outward_mm: Floats, step: float, hidden: Bools) -> tuple[Floats, Bools, Floats]:
    """Where (S,) along `outward_mm` (n,) the last chalk lies, whether it was found, and what thin chalk leaves open.

    Under another stroke (`hidden`, (S, n)) a row tells neither chalk nor bare panel.
    """
    bare = chalk[:, outward_mm > 3.0]
    noise = 1.4826 * median(np.abs(bare - median(bare)))
    length = ROUGH_PANEL_MM if noise > ROUGH_PANEL else MEAN_MM
    window = max(1, round(length / step))
    kernel = np.ones(window) / window
    smooth = np.stack([np.convolve(row, kernel, mode="same") for row in chalk])
    spread = 1.4826 * median(np.abs(smooth[:, outward_mm > 3.0]))
    threshold = max(CHALK, SCATTERS * spread)
    marked = (smooth > threshold) & ~hidden
    bare_rows = np.cumsum(~marked & ~hidden, axis=1)
    gap = round(BARE_MM / step)
    ends, open_mm = np.zeros(len(chalk)), np.zeros(len(chalk))
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
            if bare_rows[s, place] - bare_rows[s, last] >= gap:
                break
            last = int(place)
        # The height of the chalk just within, of a dashed stroke's too.
        before = slice(max(0, last - round(6 / step)), max(1, last - round(2 / step)))
        within = smooth[s, before][row[before]]
        share = min(threshold / median(within), 1.0) if len(within) else 1.0
        # The mean over a length crosses half the height at an edge, less of it further out.
        smeared = length * (0.5 - share)
        tapered = TAPER_MM * max(share - TAPER_TO, 0.0) / (1 - TAPER_TO)
        # An end under a ring lies anywhere there.
        covered = int(np.argmin(hidden[s, last + 1 :])) if last + 1 < len(row) else 0
        ends[s] = outward_mm[last] + 0.5 * step + (0.5 * covered * step or tapered - smeared)
        open_mm[s] = max(TAPER_MM * share, covered * step / np.sqrt(12))
        found[s] = last < len(row) - gap
    return ends, found, open_mm


def common_start(scene: Scene, reading: Reading, pieces: Pieces) -> tuple[float, float]:
    """Distance from the centre at which the layout's strokes begin, and its standard deviation.

    Along the spokes it is brighter than half-way between them, from the beginning on; rings cross both alike.
    """
    paths, width = reading.paths, reading.profile.seen_mm
    reach = median(pieces.outer_mm)
    grid = np.arange(0.25, max(0.45 * reach, scene.first_mm + 8.0), 0.25)
    order = np.argsort(paths.angle_deg % 360)
    turn = np.diff(paths.angle_deg[order] % 360, append=paths.angle_deg[order][0] % 360 + 360)
    between = paths.angle_deg[order] + 0.5 * np.minimum(turn, median(turn))
    offsets = np.linspace(-0.42, 0.42, 5) * width
    bend = np.stack([np.interp(grid, paths.along_mm, row) for row in pieces.path()])
    on = paths._replace(along_mm=grid, bend_mm=bend)
    off = Paths.straight(paths.centre_mm, between, 0.0, grid)
    drawn, bare = (
        medians(
            scene.sign * p.sample(scene.pixels, scene.panel, offsets, sub_rows=1, mixture=scene.mixture).mean(2),
            0,
        )
        for p in (on, off)
    )
    far = grid > 0.5 * grid[-1]
    body = median((drawn - bare)[far])
    # Where neighbours touch, nothing half-way between is bare: there the panel further out is what chalk stands on.
    half_turn = np.sin(np.radians(min(median(turn), 180.0)) / 2)
    touching = grid < 0.92 * width / max(half_turn, 0.05)
    contrast = drawn - np.where(touching, median(bare[far]), bare)
    excess = np.clip(contrast / max(body, 1e-6), 0.0, 1.0) - 0.5
    # Chalk where they touch may be the centre's mark as well: it hardly speaks for the spokes.
    excess = np.where(touching & (excess > 0), CENTRES_PART * excess, excess)
    # The best step from bare to drawn: the least sum of what lies above half before it (a change-point).
    at = int(np.argmin(np.concatenate([[0.0], np.cumsum(excess)])))
    edge = float(grid[touching][-1]) if touching.any() else 0.0
    # Strokes that begin anywhere up to where they touch look alike.
    sd = (
        COMMON_SD_MM
        if grid[min(at, len(grid) - 1)] > edge
        else float(np.clip(edge / np.sqrt(3), COMMON_SD_MM, ROUGH_SD_MM))
    )
    return float(0.25 * at + 0.125), sd
