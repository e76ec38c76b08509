"""Reading a photo's strokes along their current paths: place, chalk and precision of every row."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile
from aligncheck.marks.ground import level_ground
from aligncheck.marks.masks import Stretch, beside_lines, even_base, even_sides, off_rings
from aligncheck.marks.paths import SUB_ROWS, Paths
from aligncheck.marks.profile import Profile, profile_of
from aligncheck.marks.rows import centroids, row_offsets_mm, row_weight, without_baseline
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


class Scene(NamedTuple):
    """What stays the same while a photo's spokes are measured.

    `pixels`: full size, grey, or in colour with a `mixture` of its channels. `sign`: +1 for light strokes. `unit`: grey
    step of a strong stroke. `noise`: usual ridge of bare panel in units of it. `lines`: everything straight that
    strokes may meet. `first_mm`: nearer to the centre neighbouring spokes run together.
    """

    pixels: NDArray[np.uint8]
    panel: Panel
    sign: float
    unit: float
    noise: float
    rings_mm: Floats
    lines: tuple[Stretch, ...]
    first_mm: float
    mixture: tuple[float, float, float] | None = None


class Reading(NamedTuple):
    """Rows (S, R) along `paths`: the stroke's place clockwise of the straight start line, amplitude, weight.

    `alone`: rows that show the spoke alone. `clear`: rows free of all but the lines of the spoke's own place and
    diagonals; `near`: rows that one of these comes near. `values` (S, R, M): the rows
    themselves less their baseline, light strokes positive, at `offsets_mm` (M,).
    """

    paths: Paths
    profile: Profile
    widths_mm: Floats
    offset_mm: Floats
    amplitude: Floats
    weight: Floats
    alone: Bools
    clear: Bools
    near: Bools
    values: Floats
    offsets_mm: Floats
    full: Floats


def read(
    scene: Scene,
    paths: Paths,
    profile: Profile,
    widths_mm: Floats,
    window_mm: float,
    sub_rows: int = SUB_ROWS,
    level: bool = False,
) -> Reading:
    """Read all rows along `paths` with a Gaussian window of `window_mm`; `level`: their values on level ground.

    A stroke of another width than the profile's is read with its offsets stretched, so that its edges fall where the
    profile's do.
    """
    width = profile.seen_mm
    stretch = widths_mm / width
    px_mm = 1 / float(scene.panel.px_per_mm(paths.centre_mm))
    offsets = row_offsets_mm(width, px_mm)
    values = scene.sign * paths.sample(
        scene.pixels, scene.panel, offsets, None, stretch, sub_rows, mixture=scene.mixture
    )
    rows = centroids(values, offsets, profile, window_mm)
    clear = off_rings(paths, scene.rings_mm, width) & even_base(rows.base, scene.unit)
    crowded, near = beside_lines(paths, scene.lines, width)
    clear &= ~crowded
    alone = clear & ~near & np.isfinite(rows.chalk) & (paths.along_mm >= scene.first_mm)
    scale = _full_chalk(rows.chalk, alone)
    full = scale / rows.unit
    amplitude = np.where(np.isfinite(rows.chalk), rows.chalk, 0.0) / scale[:, None]
    weight = np.where(alone & np.isfinite(rows.offset_mm) & (amplitude > 0.05), row_weight(amplitude), 0.0)
    weight = weight * even_sides(values / full[:, None, None], offsets, width, alone)
    if level:
        values = level_ground(values, offsets, profile, alone, paths.step_mm, scene.unit)
    return Reading(
        paths,
        profile,
        widths_mm,
        np.where(weight > 0, paths.bend_mm + rows.offset_mm * stretch[:, None], paths.bend_mm),
        amplitude,
        weight,
        alone,
        clear,
        near,
        without_baseline(values, offsets, width) / full[:, None, None],
        offsets,
        full,
    )


def _full_chalk(chalk: Floats, alone: Bools) -> Floats:
    """Chalk of a well drawn row of each stroke (S,): its 90th percentile, at least 0.4 of the usual one."""
    own = np.array([float(quantile(c[a], 0.9)) if a.sum() > 4 else 0.0 for c, a in zip(chalk, alone, strict=True)])
    usual = median(own[own > 0]) if (own > 0).any() else 1.0
    return np.maximum(own, max(0.4 * usual, 1e-3))


def measured_profile(reading: Reading, weights: Floats) -> tuple[Profile, Floats]:
    """The usual stroke's profile, and each stroke's width (S,), from the means of their well drawn rows."""
    good = (weights > 0) & (reading.amplitude > 0.5)
    own = {s: profile_of(reading.values[s][g].mean(0), reading.offsets_mm) for s, g in enumerate(good) if g.sum() > 5}
    if not own:
        return reading.profile, reading.widths_mm
    stretch = reading.widths_mm / reading.profile.seen_mm
    seen = median([p.seen_mm * stretch[s] for s, p in own.items()])
    box = median([p.width_mm * stretch[s] for s, p in own.items()])
    blur = median([p.blur_mm * stretch[s] for s, p in own.items()])
    widths = np.full(len(stretch), seen)
    for s, p in own.items():
        # Strokes of one hand and chalk differ by a third at most; what differs by more is not only the stroke.
        widths[s] = np.clip(p.seen_mm * stretch[s], 0.67 * seen, 1.5 * seen)
    return Profile(box, blur), widths
