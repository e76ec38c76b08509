"""Measure all spokes of a photo: line, ends, width, and how sure each is."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import FREE_MM, learn_bows, legendre, robust_fit
from aligncheck.marks.detection import Detection
from aligncheck.marks.ends import marked_threshold, rough_extent
from aligncheck.marks.marks import Spoke
from aligncheck.marks.masks import Stretch
from aligncheck.marks.paths import Paths
from aligncheck.marks.profile import Profile
from aligncheck.marks.reading import Reading, Scene, measured_profile, read
from aligncheck.marks.slots import Slots, find_strokes
from aligncheck.marks.spoke_set import SpokeSet
from aligncheck.panel import Panel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]


def measure_spokes(photo: Photo, panel: Panel, detection: Detection) -> SpokeSet:
    """Measure the spokes that `detection` saw roughly, in the photo's own pixels."""
    pixels = photo.grey
    slots = find_strokes(pixels, panel, detection)
    places = [k for k, lines in enumerate(slots.lines) if lines]
    if not places:
        return SpokeSet((), detection.stroke_mm, 0.3 * detection.stroke_mm)
    paths = _first_paths(slots, places, detection)
    scene = _scene(pixels, panel, detection, slots, places, paths)
    profile = Profile(detection.stroke_mm, 0.25 * detection.stroke_mm)
    window = 0.3 + 0.25 * detection.stroke_mm
    reading = read(scene, paths, profile, 0.8)
    extent = rough_extent(
        paths.along_mm, reading.amplitude, reading.alone, marked_threshold(slots.noise), scene.first_mm
    )
    for _ in range(2):
        inside = (paths.along_mm >= extent.inner_mm[:, None]) & (paths.along_mm <= extent.outer_mm[:, None])
        basis = legendre(paths.along_mm, extent.inner_mm, extent.outer_mm)
        prior = np.array([FREE_MM, FREE_MM, 0.15, 0.1, 0.1, 0.1])
        fit = robust_fit(basis, reading.offset_mm, reading.weight * inside, prior, paths.step_mm)
        bend = np.einsum("srp,sp->sr", basis, fit.coefficients)
        profile = measured_profile(reading, reading.weight * inside)
        window = 0.3 + 0.25 * profile.width_mm
        reading = read(scene, paths.bent(bend), profile, window)
        extent = rough_extent(
            paths.along_mm, reading.amplitude, reading.alone, marked_threshold(slots.noise), scene.first_mm
        )
    inside = (paths.along_mm >= extent.inner_mm[:, None]) & (paths.along_mm <= extent.outer_mm[:, None])
    basis = legendre(paths.along_mm, extent.inner_mm, extent.outer_mm)
    prior, fit = learn_bows(basis, reading.offset_mm, reading.weight * inside, paths.step_mm)
    spokes = []
    for s, k in enumerate(places):
        c, v = fit.coefficients[s, :2], fit.covariance[s, :2, :2]
        jac = np.array([[1.0, -1.0], [1.0, 1.0]])
        ends = [extent.inner_mm[s], extent.outer_mm[s]]
        offs = jac @ c
        from aligncheck.geometry.angles import clockwise

        pts = [paths.points(s, e) + o * clockwise(paths.angle_deg[s]) for e, o in zip(ends, offs, strict=True)]
        spokes.append(Spoke(pts[0], pts[1], jac @ v @ jac.T, profile.width_mm, (0.3, 0.3), k))
    return SpokeSet(tuple(spokes), profile.width_mm, profile.blur_mm, slots.unit)


def _first_paths(slots: Slots, places: list[int], detection: Detection) -> Paths:
    """Straight paths along the first pass's spokes, from near the centre to beyond the layout."""
    step = float(np.clip(detection.reach_mm / 120, 0.5, 2.0))
    along = np.arange(step, 1.1 * detection.reach_mm + 6, step)
    found = [slots.lines[k][0] for k in places]
    return Paths.straight(detection.centre_mm, [f.angle_deg for f in found], [f.miss_mm for f in found], along)


def _scene(
    pixels: NDArray[np.uint8], panel: Panel, detection: Detection, slots: Slots, places: list[int], paths: Paths
) -> Scene:
    """Gather what strokes may meet."""
    first = (1.6 + detection.stroke_mm) / (2 * np.sin(np.radians(min(detection.pitch_deg, 90.0)) / 2))
    lines = [Stretch(d.inner_mm, d.outer_mm) for d in detection.diagonals]
    for s, k in enumerate(places):
        lines.append(Stretch(paths.points(s, first), paths.points(s, detection.reach_mm), s))
        for other in slots.lines[k][1:]:
            one = Paths.straight(detection.centre_mm, other.angle_deg, other.miss_mm, paths.along_mm)
            lines.append(Stretch(one.points(0, first), one.points(0, detection.reach_mm)))
    sign = 1.0 if detection.light else -1.0
    return Scene(
        pixels,
        panel,
        sign,
        slots.unit,
        slots.noise,
        np.asarray(detection.ring_radii_mm, float),
        tuple(lines),
        float(first),
    )
