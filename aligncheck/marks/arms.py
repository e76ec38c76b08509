"""Short strokes through the centre, looked for pixel by pixel between everything else that is drawn there."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.marks.marks import Line, Ring
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel

Floats = NDArray[np.float64]

ROW_MM, STEP_MM = 0.25, 0.1
#: Rows are judged as means over this length: chalk's grain is white beyond it.
AVERAGE_MM = 1.0
GRAIN_MM = 1.45
#: An arm may turn from the given direction by this much.
TURN_DEG = 1.0


@dataclass(frozen=True)
class Arm:
    """A short stroke: offset clockwise of the searched point along `normal`, its standard deviation, both mm.

    `share` is the part of the looked-at length that carries chalk, `rival` the score of the best other offset as a
    part of this one's.
    """

    normal: Floats
    offset_mm: float
    sd_mm: float
    share: float
    rival: float


@dataclass(frozen=True)
class Patch:
    """What the photo shows along one direction through `centre_mm`: rows along it, pixels across."""

    values: Floats
    clear: NDArray[np.bool_]
    along_mm: Floats
    offsets_mm: Floats
    normal: Floats


def cut_patch(
    grey: NDArray[np.uint8],
    panel: Panel,
    light: bool,
    centre_mm: Floats,
    bearing_deg: float,
    half_length_mm: float,
    half_width_mm: float,
) -> Patch:
    """Sample along a bearing through the centre, on both sides of it."""
    along = np.arange(-half_length_mm, half_length_mm + ROW_MM / 2, ROW_MM)
    offsets = np.arange(-half_width_mm, half_width_mm + STEP_MM / 2, STEP_MM)
    u, normal = outward(bearing_deg), clockwise(bearing_deg)
    points = centre_mm + along[:, None] * u
    values = sample_rows(grey, panel, points, np.broadcast_to(normal, points.shape), offsets)
    return Patch(np.asarray(values if light else -values, float), np.ones(values.shape, bool), along, offsets, normal)


def blank(patch: Patch, centre_mm: Floats, lines: Sequence[Line], rings: Sequence[Ring], clear_mm: float) -> Patch:
    """The patch with all pixels near other strokes marked as not clear."""
    u = np.array([patch.normal[1], -patch.normal[0]])
    points = centre_mm + patch.along_mm[:, None, None] * u + patch.offsets_mm[None, :, None] * patch.normal
    clear = patch.clear.copy()
    for line in lines:
        span = line.outer_mm - line.inner_mm
        length = float(np.hypot(*span))
        away = points - line.inner_mm
        along = away @ span / length
        clear &= (np.abs(away @ line.across) > clear_mm) | (along < -clear_mm) | (along > length + clear_mm)
    for ring in rings:
        clear &= np.abs(np.hypot(*np.moveaxis(points - ring.centre_mm, -1, 0)) - ring.radius_mm) > clear_mm
    return Patch(patch.values, clear, patch.along_mm, patch.offsets_mm, patch.normal)


def find_arm(patch: Patch, width_mm: float, blur_mm: float, unit: float, most_mm: float) -> Arm | None:
    """The stroke of the usual width that explains the clear pixels best, within `most_mm` of the middle."""
    template = _template(patch.offsets_mm, width_mm, blur_mm)
    gain, amplitude = _row_gains(patch, template, unit)
    average = (1, max(1, round(AVERAGE_MM / ROW_MM)))
    gain = np.asarray(cv2.blur(gain, average, borderType=cv2.BORDER_REPLICATE), float)
    tries = np.nonzero(np.abs(patch.offsets_mm) <= most_mm)[0]
    slopes = np.tan(np.radians(np.linspace(-TURN_DEG, TURN_DEG, 9)))
    rows = np.arange(len(gain))[:, None]
    shifts = np.round(patch.along_mm[:, None, None] * slopes / STEP_MM).astype(int)
    index = np.clip(tries[None, None, :] + shifts.transpose(0, 2, 1), 0, gain.shape[1] - 1)
    sums = gain[rows[:, :, None], index].sum(0)
    s, k = (int(i) for i in np.unravel_index(int(sums.argmax()), sums.shape))
    best = float(sums[s, k])
    if best <= 0:
        return None
    profile = sums[s]
    far = np.abs(patch.offsets_mm[tries] - patch.offsets_mm[tries[k]]) > 0.6 * width_mm + 0.2
    rival = float(profile[far].max() / best) if far.any() else 0.0
    at = np.clip(index[:, s, k], 0, gain.shape[1] - 1)
    chalk = amplitude[np.arange(len(gain)), at]
    offset, sd = _peak(gain, index[:, s, :], k, patch.offsets_mm[tries])
    return Arm(patch.normal, offset, sd, float((chalk > 0.3).mean()), rival)


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


def _peak(gain: Floats, index: NDArray[np.intp], k: int, offsets: Floats) -> tuple[float, float]:
    """Top of the summed gain by a parabola over three points, and its spread from the rows' own slopes."""
    k = int(np.clip(k, 1, index.shape[1] - 2))
    rows = np.arange(len(gain))
    left, mid, right = (gain[rows, index[:, j]] for j in (k - 1, k, k + 1))
    bend = float((left - 2 * mid + right).sum())
    if bend >= 0:
        return float(offsets[k]), 0.5
    shift = float(np.clip(0.5 * (left - right).sum() / bend, -1, 1))
    slope = (right - left) / 2 + shift * (left - 2 * mid + right)
    blocks = max(1, round(AVERAGE_MM / ROW_MM))
    # Rows within one grain of each other are one voice: their slopes are added before squaring.
    voices = np.add.reduceat(slope, np.arange(0, len(slope), blocks))
    spread = np.sqrt(float((voices**2).sum()) * GRAIN_MM / AVERAGE_MM) / -bend
    return float(offsets[k] + shift * STEP_MM), float(spread * STEP_MM)
