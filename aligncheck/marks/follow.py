"""From the first pass's straight lines to paths that follow the strokes, read finely: what every fit starts from."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import FREE_MM, curves, legendre, robust_fit
from aligncheck.marks.detection import Detection
from aligncheck.marks.ends import Extent, bare_scatter, marked_threshold, rough_extent
from aligncheck.marks.marks import Line
from aligncheck.marks.masks import Stretch
from aligncheck.marks.paths import SUB_ROWS, Paths
from aligncheck.marks.profile import Profile
from aligncheck.marks.reading import Reading, Scene, measured_profile, read
from aligncheck.marks.slots import Slots
from aligncheck.panel import Panel

#: Loose bows, mm, that let a path follow a bent or bowed stroke before anything is known of the layout.
LOOSE_MM = np.array([FREE_MM, FREE_MM, 0.15, 0.1, 0.1, 0.1])
#: Window of the first reading, mm: the first pass finds a stroke to some tenths of a millimetre.
FIRST_WINDOW_MM = 0.8
#: Neighbours fainter than this part of their spoke are kept clear of, but never fitted together with it.
FAINT = 0.25


def _first_paths(slots: Slots, places: list[int], detection: Detection) -> Paths:
    """Straight paths along the first pass's spokes, from near the centre to beyond the layout."""
    step = float(np.clip(detection.reach_mm / 120, 0.5, 2.0))
    along = np.arange(step, 1.1 * detection.outermost_mm + 6, step)
    found = [slots.lines[k][0] for k in places]
    return Paths.straight(detection.centre_mm, [f.angle_deg for f in found], [f.miss_mm for f in found], along)


def scene_of(pixels: NDArray[np.uint8], panel: Panel, detection: Detection, slots: Slots, places: list[int]) -> Scene:
    """Gather what strokes may meet."""
    paths = _first_paths(slots, places, detection)
    first = (1.6 + detection.stroke_mm) / (2 * np.sin(np.radians(min(detection.pitch_deg, 90.0)) / 2))
    lines = [Stretch(d.inner_mm, d.outer_mm, -1, _line_sd(d)) for d in detection.construction]
    for s, k in enumerate(places):
        lines.append(Stretch(paths.points(s, first), paths.points(s, detection.outermost_mm), s))
        for other in slots.lines[k][1:]:
            faint = other.strength_mm < FAINT * slots.lines[k][0].strength_mm
            one = Paths.straight(detection.centre_mm, other.angle_deg, other.miss_mm, paths.along_mm)
            lines.append(Stretch(one.points(0, first), one.points(0, detection.reach_mm), faint=faint))
    sign = 1.0 if detection.light else -1.0
    rings = np.asarray(detection.ring_radii_mm, float)
    return Scene(pixels, panel, sign, slots.unit, slots.noise, rings, tuple(lines), float(first))


def stray_lines(scene: Scene, detection: Detection) -> tuple[Line, ...]:
    """Strokes beside spokes that are neither spokes nor diagonals."""
    strays = [line for line in scene.lines[len(detection.construction) :] if line.own < 0]
    return tuple(Line(s.start_mm, s.end_mm, s.sd_mm**2 * np.eye(2), detection.stroke_mm) for s in strays)


def _line_sd(line: Line) -> float:
    """How well a measured line is known, mm; bowed by a few hundredths whatever its fit says."""
    return float(np.hypot(0.02, np.sqrt(np.trace(line.across_covariance) / 2)))


def follow(scene: Scene, detection: Detection, slots: Slots, places: list[int]) -> tuple[Reading, Extent]:
    """Follow every stroke: read, fit loosely, read again along the fit."""
    paths = _first_paths(slots, places, detection)
    profile = Profile(detection.stroke_mm, 0.25 * detection.stroke_mm)
    widths = np.full(len(places), profile.seen_mm)
    reading = read(scene, paths, profile, widths, FIRST_WINDOW_MM, sub_rows=2)
    for sub_rows in (2, SUB_ROWS):
        extent = _extent(scene, reading, detection.reach_mm)
        weights = reading.weight * inside(reading.paths, extent)
        basis = legendre(paths.along_mm, extent.inner_mm, extent.outer_mm)
        fit = robust_fit(basis, reading.offset_mm, weights, LOOSE_MM, paths.step_mm)
        profile, widths = measured_profile(reading, weights)
        bend = curves(basis, fit.coefficients)
        # The last reading is what strokes are placed by: there the ground matters.
        window, last = 0.3 + 0.25 * profile.seen_mm, sub_rows == SUB_ROWS
        reading = read(scene, paths.bent(bend), profile, widths, window, sub_rows, level=last)
    return reading, _extent(scene, reading, detection.reach_mm)


def _extent(scene: Scene, reading: Reading, reach_mm: float) -> Extent:
    """Rough ends of all strokes: first with the first pass's noise, then with that beyond the strokes' ends."""
    along, noise = reading.paths.along_mm, scene.noise
    for _ in range(2):
        extent = rough_extent(
            along, reading.amplitude, reading.alone, marked_threshold(noise), scene.first_mm, reach_mm
        )
        noise = bare_scatter(along, reading.amplitude, reading.alone, extent, noise)
    return extent


def inside(paths: Paths, extent: Extent) -> NDArray[np.bool_]:
    """Rows (S, R) between the ends."""
    return (paths.along_mm >= extent.inner_mm[:, None]) & (paths.along_mm <= extent.outer_mm[:, None])
