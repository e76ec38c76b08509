"""The rings: every candidate fitted as a circle with gentle waves, then kept or left by how it was drawn."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians, quantile
from aligncheck.marks import ring_fit
from aligncheck.marks.chalk import Chalk
from aligncheck.marks.crossings import near_lines
from aligncheck.marks.detection import Detection
from aligncheck.marks.marks import Line, Ring, Waves
from aligncheck.marks.meeting import spokes_meet
from aligncheck.marks.ring_choice import IN_LINE_MM, SURE, choose_rings, quality
from aligncheck.marks.ring_colour import colour_step, own_strength
from aligncheck.marks.ring_fit import RingPath
from aligncheck.marks.spoke_set import SpokeSet
from aligncheck.marks.windows import Windows
from aligncheck.panel import Panel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Rows per ring and their distance, coarse while the path is sought, fine for the last fit.
COARSE_MM, FINE_MM = 1.2, 0.5
FEWEST = 120
#: Rows nearer than this to another stroke's edge, as it is seen, are left out.
CLEAR_MM = 0.2
#: The last fit is repeated until no path moves by more than this, at most so often: a window that rides off a
#: stroke's middle sees only part of its offset.
STILL_MM, MOST_FINE = 0.03, 3
#: A ring's own score ratio counts by this part.
OWN_RATIO = 0.6
#: What no scatter shows: the grey's own curve, and that a hand or a stencil lays a curve in short straight dabs,
#: which lie inside it (dabs of d mm by d^2 / 12 r: 0.1 / r for d = 1.1 mm).
RADIUS_SD_MM, INSET_MM2 = 0.003, 0.1
#: A candidate with less chalk than this does not hide its neighbour.
DISTURBS = 0.3
#: A full row of a ring steps from the panel by at least this part of what spokes do: without rings, the most that bare
#: panel shows would be taken for one.
LEAST_UNIT = 0.6
#: Rows are averaged over this length: the chalk's grain is white beyond it.
AVERAGE_MM = 1.0


def measure_rings(photo: Photo, panel: Panel, detection: Detection, spokes: SpokeSet) -> tuple[Ring, ...]:
    """Measure all rings, from the inside out."""
    paths, wave_sd = fit_candidates(photo, panel, detection, spokes)
    width = spokes.width_mm or detection.stroke_mm
    chosen = choose_rings(paths, _own_strengths(photo, panel, paths, width))
    pooled = float(np.mean([path.score_ratio for path in chosen])) if chosen else 1.0
    return tuple(_as_ring(path, wave_sd, pooled, width, spokes.blur_mm) for path in chosen)


def _own_strengths(photo: Photo, panel: Panel, paths: list[RingPath], width_mm: float) -> list[float]:
    """How strongly each candidate that looks faint is drawn in a colour of its own."""
    grey = [quality(path) for path in paths]
    sure = [path for path, q in zip(paths, grey, strict=True) if q.strength > SURE]
    faint = [q.strength <= SURE and q.spread_mm < IN_LINE_MM for q in grey]
    if not sure or not any(faint):
        return [0.0] * len(paths)
    usual = medians(np.array([colour_step(photo, panel, path, width_mm).mean((0, 1)) for path in sure]), 0)
    return [
        own_strength(colour_step(photo, panel, path, width_mm), usual) if weak else 0.0
        for path, weak in zip(paths, faint, strict=True)
    ]


class _Scene(NamedTuple):
    """What the rings are read from, how wide a stroke is seen, the straight strokes that cross, the step of spokes."""

    chalk: Chalk
    width_mm: float
    lines: tuple[Line, ...]
    step: float


def fit_candidates(photo: Photo, panel: Panel, detection: Detection, spokes: SpokeSet) -> tuple[list[RingPath], Floats]:
    """Fit a path at every candidate radius; also the spread of the waves that the photo's rings have."""
    lines = (*spokes.spokes, *spokes.others, *detection.construction)
    # The windows must hold the stroke as it is seen, blur included.
    scene = _Scene(Chalk(photo, panel, detection.light, spokes.mixture), detection.stroke_mm, lines, spokes.strength)
    # Rings are set from the centre mark; the spokes' meeting point is nearer to it than the detection's centre.
    met = spokes_meet(spokes.spokes)
    centre = met[0].xy_mm if met else detection.centre_mm
    paths = [ring_fit.start(centre, float(r), COARSE_MM, FEWEST) for r in detection.ring_radii_mm]
    circle, waves = np.full(ring_fit.WAVES, 1e-4), np.full(ring_fit.WAVES, 0.15)
    unit = None
    # At first a candidate may still be on its way to another's place: none hides another.
    paths, unit = _fit_all(scene, paths, [], 1.5, circle)
    paths, unit = _fit_all(scene, _without_twins(paths, scene.width_mm), paths, 1.0, waves)
    paths = _without_twins(paths, scene.width_mm)
    learned = ring_fit.learn_waves([p for p in paths if quality(p).strength > SURE])
    paths = [ring_fit.with_rows(p, FINE_MM, FEWEST) for p in paths]
    moving = list(range(len(paths)))
    for _ in range(MOST_FINE):
        fitted, unit = _fit_all(scene, [paths[i] for i in moving], paths, 1.0, learned, unit)
        moved = [float(np.abs(new.terms - paths[i].terms).max()) for i, new in zip(moving, fitted, strict=True)]
        for i, new in zip(moving, fitted, strict=True):
            paths[i] = new
        moving = [i for i, by in zip(moving, moved, strict=True) if by > STILL_MM]
        if not moving:
            break
    return paths, learned


def _fit_all(
    scene: _Scene,
    paths: list[RingPath],
    candidates: list[RingPath],
    wide: float,
    wave_sd: Floats,
    unit: float | None = None,
) -> tuple[list[RingPath], float | None]:
    """Read across all paths at once and move each to where its rows say; also the step of a usual full row."""
    if not paths:
        return [], unit
    windows = Windows.of_width(round(scene.width_mm, 2), wide)
    laid = [path.points() for path in paths]
    points, normals = (np.concatenate(part) for part in zip(*laid, strict=True))
    values = scene.chalk.across(points, normals, windows.offsets_mm)
    panel = scene.chalk.panel
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    inside = (np.abs(points) < half - windows.offsets_mm[-1]).all(1)
    crossed = near_lines(points, scene.lines, 0.5 * scene.width_mm + CLEAR_MM)
    ends = np.cumsum([len(p.bearings_deg) for p in paths])[:-1]
    parts = np.split(values, ends)
    if unit is None:
        unit = max(_unit([part @ windows.weights[:, 0] for part in parts]), LEAST_UNIT * scene.step)
    strengths = [quality(other).strength for other in candidates]
    disturbing = [other for other, strength in zip(candidates, strengths, strict=True) if strength > DISTURBS]
    fitted = []
    for path, part, ok in zip(paths, parts, np.split(inside & ~crossed, ends), strict=True):
        free = ok & ~_near_others(path, disturbing, scene.width_mm)
        rows = windows.measure(part, max(1, round(AVERAGE_MM / path.step_mm)), unit, free)
        fitted.append(ring_fit.fit(path, rows, free, wave_sd))
    return fitted, unit


def _without_twins(paths: list[RingPath], width_mm: float) -> list[RingPath]:
    """The candidates, without those that have settled on the circle of a stronger one."""
    kept: list[RingPath] = []
    for path in sorted(paths, key=lambda p: -quality(p).strength):
        apart = [float(np.abs((path.terms - other.terms)[:3]).max()) for other in kept]
        if all(a > 0.5 * width_mm for a in apart):
            kept.append(path)
    return sorted(kept, key=lambda p: p.radius_mm)


def _unit(heights: list[Floats]) -> float:
    """Step of a usual full row: most candidates are rings, and most of a ring is chalk."""
    return float(quantile(np.array([quantile(h, 0.8) for h in heights]), 0.6))


def _near_others(path: RingPath, paths: list[RingPath], width_mm: float) -> NDArray[np.bool_]:
    """Rows whose flanks another candidate of `paths` enters."""
    count = len(path.bearings_deg)
    own = ring_fit.distances(path.terms, count)
    near = np.zeros(len(own), bool)
    for other in paths:
        if other is not path and abs(other.radius_mm - path.radius_mm) < 8.0:
            near |= np.abs(ring_fit.distances(other.terms, count) - own) < 1.0 + width_mm
    return near


def _as_ring(path: RingPath, wave_sd: Floats, pooled: float, width_mm: float, blur_mm: float) -> Ring:
    """The value that later stages see; `pooled` is the score ratio of the photo's rings together."""
    covariance = np.linalg.inv(path.normal + ring_fit.prior_precision(wave_sd) + 1e-9 * np.eye(ring_fit.TERMS))[:3, :3]
    # One ring's own ratio rests on few pieces, so it only counts where it is far beyond the others'.
    wider = max(1.0, pooled, OWN_RATIO * path.score_ratio) * path.few_ratio
    covariance = covariance * wider
    covariance[0, 0] += RADIUS_SD_MM**2 + (INSET_MM2 / path.radius_mm) ** 2
    waves = _waves(path, wave_sd, wider)
    return Ring(
        centre_mm=path.centre_mm + path.terms[1:3],
        radius_mm=path.radius_mm + blur_mm**2 / (2 * path.radius_mm),
        covariance=np.asarray(covariance, float),
        width_mm=width_mm,
        roundness_mm=ring_fit.roundness(waves.terms_mm),
        coverage=quality(path).coverage,
        waves=waves,
    )


def _waves(path: RingPath, wave_sd: Floats, wider: float) -> Waves:
    """How far the ring is from round, its variances `wider` by that factor."""
    oval, covariance = ring_fit.oval(path, wave_sd)
    return Waves(path.terms[3:], oval, covariance * wider, ring_fit.finer_waves(wave_sd))
