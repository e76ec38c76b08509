"""Short strokes through the centre, looked for pixel by pixel between everything else that is drawn there."""

from collections.abc import Sequence
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.geometry.student import widening
from aligncheck.marks.chalk import Chalk
from aligncheck.marks.marks import Line, Ring

Floats = NDArray[np.float64]

ROW_MM, STEP_MM = 0.25, 0.1
#: Rows are judged as means over this length: chalk's grain is white beyond it.
AVERAGE_MM = 1.0
GRAIN_MM = 1.45
#: A hand's construction line turns from the corner's direction by about this much (1.5 mm in 30 cm).
TURN_SD_DEG = 0.3
#: What one standard deviation of turn costs, in rows full of chalk.
LEAST_ROWS = 0.5


class Arm(NamedTuple):
    """A short stroke: offset clockwise of the searched point along `normal`, its standard deviation, both mm.

    `share` is the part of the looked-at length that carries chalk, `rival` the score of the best other offset as a
    part of this one's.
    """

    normal: Floats
    offset_mm: float
    sd_mm: float
    share: float
    rival: float


class Patch(NamedTuple):
    """What the photo shows along one direction through `centre_mm`: rows along it, pixels across."""

    values: Floats
    clear: NDArray[np.bool_]
    along_mm: Floats
    offsets_mm: Floats
    normal: Floats


def cut_patch(
    chalk: Chalk,
    centre_mm: Floats,
    bearing_deg: float,
    half_length_mm: float,
    half_width_mm: float,
    row_mm: float = ROW_MM,
) -> Patch:
    """Sample along a bearing through the centre, on both sides of it."""
    along = np.arange(-half_length_mm, half_length_mm + row_mm / 2, row_mm)
    offsets = np.arange(-half_width_mm, half_width_mm + STEP_MM / 2, STEP_MM)
    u, normal = outward(bearing_deg), clockwise(bearing_deg)
    points = centre_mm + along[:, None] * u
    values = np.asarray(chalk.across(points, np.broadcast_to(normal, points.shape), offsets), float)
    return Patch(values, np.ones(values.shape, bool), along, offsets, normal)


def blank(patch: Patch, centre_mm: Floats, lines: Sequence[Line], rings: Sequence[Ring], clear_mm: float) -> Patch:
    """The patch with all pixels near other strokes marked as not clear."""
    # Along and across the patch every line's own coordinates are sums of one number a row and one a column.
    frame = np.array([[patch.normal[1], -patch.normal[0]], patch.normal])
    rows, columns = patch.along_mm[:, None], patch.offsets_mm
    reach = float(np.hypot(np.abs(rows).max(), np.abs(columns).max()))
    clear = patch.clear.copy()
    for line in lines:
        span = (line.outer_mm - line.inner_mm) / np.hypot(*(line.outer_mm - line.inner_mm))
        length = float(span @ (line.outer_mm - line.inner_mm))
        away = centre_mm - line.inner_mm
        (u, v), (along, across) = frame @ span, frame @ line.across
        off = np.abs(rows * along + (columns * across + away @ line.across))
        t = rows * u + (columns * v + away @ span)
        clear &= (off > clear_mm) | (t < -clear_mm) | (t > length + clear_mm)
    for ring in rings:
        u, v = frame @ (centre_mm - ring.centre_mm)
        if ring.radius_mm > reach + float(np.hypot(u, v)) + clear_mm:
            continue
        away_mm = np.sqrt((rows + u) ** 2 + (columns + v) ** 2)
        clear &= np.abs(away_mm - ring.radius_mm) > clear_mm
    return Patch(patch.values, clear, patch.along_mm, patch.offsets_mm, patch.normal)


def find_arm(patch: Patch, width_mm: float, blur_mm: float, unit: float, most_mm: float) -> Arm | None:
    """The stroke of the usual width that explains the clear pixels best, within `most_mm` of the middle."""
    template = _template(patch.offsets_mm, width_mm, blur_mm)
    gain, height = _row_gains(patch, template, unit)
    average = (1, max(1, round(AVERAGE_MM / ROW_MM)))
    gain = np.asarray(cv2.blur(gain, average, borderType=cv2.BORDER_REPLICATE), float)
    tries = np.nonzero(np.abs(patch.offsets_mm) <= most_mm)[0]
    turns = np.linspace(-2.5, 2.5, 11) * TURN_SD_DEG
    shifts = patch.along_mm[:, None] * np.tan(np.radians(turns)) / STEP_MM
    index = np.clip(np.round(tries + shifts[..., None]).astype(int), 1, gain.shape[1] - 2)
    rows = np.arange(len(gain))
    sums = gain[rows[:, None, None], index].sum(0) - LEAST_ROWS * (turns / TURN_SD_DEG)[:, None] ** 2
    s, k = (int(i) for i in np.unravel_index(int(sums.argmax()), sums.shape))
    if sums[s, k] <= 0:
        return None
    far = np.abs(tries - tries[k]) * STEP_MM > 0.6 * width_mm + 0.2
    rival = float(sums[:, far].max() / sums[s, k]) if far.any() else 0.0
    at = index[:, s, k]
    slope = float(np.tan(np.radians(turns[s])))
    offset, sd = _peak(gain, at, patch.along_mm, float(patch.offsets_mm[tries[k]]), slope)
    return Arm(patch.normal, offset, sd, float((height[rows, at] > 0.3).mean()), max(rival, 0.0))


def _template(offsets: Floats, width_mm: float, blur_mm: float) -> Floats:
    """A stroke's profile of height 1 at every offset: (tries, pixels)."""
    fine = np.clip((width_mm / 2 - np.abs(offsets[None] - offsets[:, None])) / STEP_MM + 0.5, 0, 1)
    return np.asarray(cv2.GaussianBlur(fine, (0, 1), max(blur_mm, 0.05) / STEP_MM, sigmaY=1e-3), float)


def _row_gains(patch: Patch, template: Floats, unit: float) -> tuple[Floats, Floats]:
    """How much a stroke at each offset lowers each row's squares, in units of a full stroke; and its height.

    Each row has its own ground: least squares of 1 and the template over the clear pixels.
    """
    window = np.abs(patch.offsets_mm[None] - patch.offsets_mm[:, None]) < 2.0
    m, v = patch.clear.astype(float), np.where(patch.clear, patch.values, 0.0) / unit
    n = m @ window.T
    st, stt = m @ (template * window).T, m @ (template**2 * window).T
    sv, stv = v @ window.T, v @ (template * window).T
    det = np.maximum(n * stt - st**2, 1e-6)
    height = (n * stv - st * sv) / det
    full = float((template[len(template) // 2] ** 2).sum())
    # Rows whose stroke would lie under something else say nothing.
    usable = stt > 0.35 * full
    height = np.clip(np.where(usable, height, 0.0), 0.0, 1.1)
    reduced = det / np.maximum(n, 1.0)
    return height**2 * reduced / full, height


def _peak(gain: Floats, at: NDArray[np.intp], along: Floats, offset: float, slope: float) -> tuple[float, float]:
    """Offset in the middle at the top of the summed gain, and its standard deviation, both mm.

    A Newton step in offset and slope, with the prior on the slope. The spread comes from the rows' own pulls at the
    top, that is without what pulls them all there from where the search stopped; so the step is taken again.
    """
    rows = np.arange(len(gain))
    left, mid, right = (gain[rows, at + d] for d in (-1, 0, 1))
    pull = (right - left) / (2 * STEP_MM)
    # Single rows bend unsteadily: the sum of their bends is shared out by how much chalk they carry.
    bend = float((2 * mid - left - right).sum()) / STEP_MM**2 * mid / max(float(mid.sum()), 1e-9)
    if bend.sum() <= 0:
        return offset, 0.5
    design = np.column_stack([np.ones_like(along), along])
    curvature, weighted = (design * bend[:, None]).T @ design, pull @ design
    # Rows within one grain of each other are one voice: their pulls are added before squaring.
    starts = np.arange(0, len(rows), max(1, round(AVERAGE_MM / ROW_MM)))
    per_voice = np.add.reduceat(bend, starts)
    count = float(per_voice.sum() ** 2 / (per_voice**2).sum())
    prior = np.diag([0.0, 1 / np.radians(TURN_SD_DEG) ** 2])
    step: Floats = np.zeros(2)
    covariance: Floats = np.zeros((2, 2))
    freedom = count
    for _ in range(3):
        voices = np.add.reduceat(pull - bend * (design @ step), starts)
        # What offset and slope took out of so few voices is missing in them.
        seen = float(voices @ voices) / max(float(per_voice.sum()), 1e-9) * count / freedom
        ratio = max(GRAIN_MM / AVERAGE_MM * seen, 1e-9)
        covariance = np.asarray(np.linalg.inv(curvature / ratio + prior + 1e-9 * np.eye(2)), float)
        step = covariance @ (weighted / ratio - prior @ np.array([0.0, slope]))
        freedom = max(count - float(np.trace(covariance @ curvature)) / ratio, 1.0)
    # The scatter was told by few voices where little of a cross is left.
    sd = float(np.sqrt(covariance[0, 0])) * widening(freedom)
    return offset + float(np.clip(step[0], -STEP_MM, STEP_MM)), sd
