"""Measure all spokes of a photo: line, ends, width, and how sure each is."""

from functools import partial

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise
from aligncheck.geometry.small import median
from aligncheck.marks.bows import GRAIN_MM, legendre, robust_fit
from aligncheck.marks.detection import Detection
from aligncheck.marks.ends import Extent
from aligncheck.marks.follow import LOOSE_MM, follow, inside, scene_of, stray_lines
from aligncheck.marks.intervals import widening
from aligncheck.marks.kernel import learn_kernels
from aligncheck.marks.kink import find_kink
from aligncheck.marks.marks import Line, Spoke
from aligncheck.marks.mixture import LUMA, best_mixture
from aligncheck.marks.overlaps import part_overlapping
from aligncheck.marks.pieces import Pieces, fit_pieces, piece_basis, with_doubt
from aligncheck.marks.reading import Reading
from aligncheck.marks.slots import Slots, find_strokes
from aligncheck.marks.spoke_set import SpokeSet
from aligncheck.marks.tips import Tips, find_tips
from aligncheck.panel import Panel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A direction with this standard deviation is no measurement.
UNKNOWN_DEG = 15.0
#: What no scatter of rows shows, in pixels, at either end: a line that crosses the pixels' rows slowly meets them at
#: one phase for centimetres, and interpolation, sharpening and coding are off by some hundredths of a pixel there.
PIXEL_SD = 0.035
#: Below this chance a second stroke is out of the question.
NO_KINK = 0.03


def measure_spokes(photo: Photo, panel: Panel, detection: Detection) -> SpokeSet:
    """Measure the spokes that `detection` saw roughly, in the photo's own pixels.

    Places in which no stroke is seen have no spoke. The spokes' covariances are their own (chalk and pixels).
    """
    slots = find_strokes(photo.grey, panel, detection)
    places = _seen(slots)
    if not places:
        return SpokeSet((), detection.stroke_mm, 0.25 * detection.stroke_mm)
    scene = scene_of(photo.grey, panel, detection, slots, places)
    reading, extent = follow(scene, detection, slots, places)
    # Uneven rows as well: how uneven the panel is decides.
    drawn = inside(reading.paths, extent) & reading.alone & (reading.amplitude > 0.3)
    mixture = best_mixture(photo.rgb, panel, reading.paths, drawn, reading.profile.seen_mm)
    if mixture != LUMA:
        in_colour = find_strokes(photo.rgb, panel, detection, mixture)
        if len(_seen(in_colour)) >= len(places):
            slots, places = in_colour, _seen(in_colour)
            scene = scene_of(photo.rgb, panel, detection, slots, places)._replace(mixture=mixture)
            reading, extent = follow(scene, detection, slots, places)
        else:
            mixture = LUMA
    reading, pieces, kink = _fit(reading, extent)
    pieces, joint = part_overlapping(scene, reading, pieces)
    tips = find_tips(scene, reading, pieces, joint)
    pieces = _refit(reading, pieces, tips, joint)
    px_mm = 1 / float(panel.px_per_mm(reading.paths.centre_mm))
    measured = (_spoke(s, k, reading, pieces, tips, px_mm) for s, k in enumerate(places))
    spokes = tuple(spoke for spoke in measured if _is_known(spoke))
    if kink is not None and np.isfinite(pieces.hinge_mm).any():
        kink = median(pieces.hinge_mm[np.isfinite(pieces.hinge_mm)])
    return SpokeSet(
        spokes,
        reading.profile.width_mm,
        reading.profile.blur_mm,
        slots.unit,
        mixture,
        stray_lines(scene, detection),
        kink,
    )


def _is_known(spoke: Spoke) -> bool:
    """Whether its direction is known at all; not so where other lines hide all of it."""
    spread = np.array([-1.0, 1.0])
    across = float(np.sqrt(spread @ spoke.across_covariance @ spread))
    return across < np.radians(UNKNOWN_DEG) * spoke.length_mm


def _seen(slots: Slots) -> list[int]:
    """Places with a stroke."""
    return [k for k, lines in enumerate(slots.lines) if lines]


def _sharpen(reading: Reading, drawn: NDArray[np.bool_]) -> Reading:
    """Read the rows' places again with the kernel that suits these strokes best."""
    good = drawn & (reading.weight > 0)
    kernels = learn_kernels(reading.values[good], reading.amplitude[good], reading.offsets_mm, reading.profile.seen_mm)
    if kernels is None:
        return reading
    stretch = (reading.widths_mm / reading.profile.seen_mm)[:, None]
    offset = reading.paths.bend_mm + kernels.offsets(reading.values, reading.amplitude) * stretch
    weight = np.where(reading.weight > 0, kernels.weight(reading.amplitude), 0.0)
    return reading._replace(offset_mm=np.where(weight > 0, offset, reading.paths.bend_mm), weight=weight)


def _fit(reading: Reading, extent: Extent) -> tuple[Reading, Pieces, float | None]:
    """Learn kernel, bows and kink; fit all spokes."""
    drawn = inside(reading.paths, extent)
    reading = _sharpen(reading, drawn)
    along = reading.paths.along_mm
    weights = reading.weight * drawn
    basis = legendre(along, extent.inner_mm, extent.outer_mm)
    loose = robust_fit(basis, reading.offset_mm, weights, LOOSE_MM, reading.paths.step_mm)
    precision = loose.weights / (loose.variance * max(1.0, GRAIN_MM / reading.paths.step_mm))[:, None]
    span = (median(extent.inner_mm), median(extent.outer_mm))
    kink = find_kink(along, reading.offset_mm, precision, span)
    fitted = partial(fit_pieces, along, reading.offset_mm, weights, extent.inner_mm, extent.outer_mm)
    if kink.chance > 1 - NO_KINK:
        return reading, fitted(kink.at_mm, 0.1), kink.at_mm
    straight = fitted(None, 0.03)
    if kink.chance < NO_KINK:
        return reading, straight, None
    two = fitted(kink.at_mm, 0.1)
    if kink.chance < 0.5:
        return reading, with_doubt(straight, two, kink.chance), None
    return reading, with_doubt(two, straight, 1 - kink.chance), kink.at_mm


def _refit(reading: Reading, pieces: Pieces, tips: Tips, joint: NDArray[np.bool_]) -> Pieces:
    """Fit again over the sharp ends; the spokes that were fitted together with another line (`joint`) stay."""
    inner, outer = (
        np.where(joint, old, new) for old, new in ((pieces.inner_mm, tips.inner_mm), (pieces.outer_mm, tips.outer_mm))
    )
    along = reading.paths.along_mm
    drawn = (along >= inner[:, None]) & (along <= outer[:, None])
    basis = piece_basis(along, inner, outer, pieces.hinge_mm)
    fit = robust_fit(basis, reading.offset_mm, reading.weight * drawn, pieces.prior_mm, reading.paths.step_mm)
    keep = pieces.fit
    wider = widening(along, reading.paths.angle_deg, inner, outer, fit)[:, None, None]
    fit = fit._replace(
        coefficients=np.where(joint[:, None], keep.coefficients, fit.coefficients),
        covariance=np.where(joint[:, None, None], keep.covariance, fit.covariance * wider + pieces.hinge_spread),
    )
    return pieces._replace(inner_mm=inner, outer_mm=outer, fit=fit)


def _spoke(s: int, place: int, reading: Reading, pieces: Pieces, tips: Tips, px_mm: float) -> Spoke:
    """The spoke that the fitted model `s` describes; `px_mm` is the size of the photo's pixels."""
    inner, outer = float(tips.inner_mm[s]), float(tips.outer_mm[s])
    ends = np.array([inner, outer])
    whole = np.stack([pieces.end_rows(s, ends[:1], False)[0], pieces.end_rows(s, ends[1:], True)[0]])
    strokes: tuple[Line, ...] = ()
    if np.isfinite(pieces.hinge_mm[s]):
        hinge = float(pieces.hinge_mm[s])
        parts = ((np.array([inner, hinge]), False), (np.array([hinge, outer]), True))
        strokes = tuple(_line(s, at, pieces.end_rows(s, at, second), reading, pieces) for at, second in parts)
    line = _line(s, ends, whole, reading, pieces)
    sd = (float(tips.sd_mm[s, 0]), float(tips.sd_mm[s, 1]))
    covariance = line.across_covariance + pieces.end_shift(s, tips.sd_mm[s]) + (PIXEL_SD * px_mm) ** 2 * np.eye(2)
    return Spoke(line.inner_mm, line.outer_mm, covariance, line.width_mm, sd, place, strokes)


def _line(s: int, at_mm: Floats, rows: Floats, reading: Reading, pieces: Pieces) -> Line:
    """The straight line through two points of the model at distances `at_mm` (2,)."""
    offsets = rows @ pieces.fit.coefficients[s]
    covariance = rows @ pieces.fit.covariance[s] @ rows.T
    points = reading.paths.points(s, at_mm) + offsets[:, None] * clockwise(reading.paths.angle_deg[s])
    # What the photo shows of a stroke's width is widened by its blur.
    width = float(reading.widths_mm[s]) * reading.profile.width_mm / reading.profile.seen_mm
    return Line(points[0], points[1], covariance, width)
