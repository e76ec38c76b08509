"""Where in each place round the centre a straight stroke lies: the first, rough pass over all spokes.

Every place is cut out as a strip along its expected direction. How much each pixel looks like a stroke (its ridge) is
summed along all lines that a spoke could be (a slant stack, by Fourier's shift theorem, so that lines between the
pixels count as well); the strongest line that nearly passes the centre is the spoke, weaker ones are its neighbours:
wiped lines, strays, second tries.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, wrap
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks.detection import Detection
from aligncheck.marks.paths import Paths
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel

Floats = NDArray[np.float64]

#: Directions tried per place.
SLOPES = 41
#: A spoke's direction is looked for this far from its expected one, degrees: an untrained hand is 1 degree off.
SEARCH_DEG = 3.5
#: Spokes usually miss the centre mark by tenths of a millimetre; beyond the first figure lines count less and less.
MISS_MM, MISS_SD_MM = 1.0, 1.5
#: Lines looked for in one place: the spoke and two neighbours.
LINES = 3
#: A diagonal this near to a place, in parts of the pitch, hides the spoke that belongs there.
UPON = 0.2
#: The best drawn rows of a stroke are so much above its usual ones that this part of them is no more than these.
FAR_OUT = 0.75
#: Less than this part of a strong stroke is none.
BARE = 0.3
#: Ridge sums are formed over blocks of this many rows.
BLOCK = 4


class Found(NamedTuple):
    """One straight stroke in a place: miss of the centre, bearing, and the length in mm that looks fully drawn."""

    angle_deg: float
    miss_mm: float
    strength_mm: float


class Slots(NamedTuple):
    """What the first pass saw.

    `lines` holds the strokes of each place, the spoke first, none where no stroke is seen; `unit` is the grey step of a
    strong stroke, `noise` the usual ridge of bare panel in that unit.
    """

    lines: tuple[tuple[Found, ...], ...]
    unit: float
    noise: float


def ridge_kernel(offsets_mm: Floats, width_mm: float) -> tuple[NDArray[np.float32], ...]:
    """Matrices (M, M): mean over a stroke's width about each offset, and over the bare flank on either side."""
    away = offsets_mm[:, None] - offsets_mm[None, :]
    near, far = width_mm / 2 + 0.4, width_mm / 2 + 1.2
    step = offsets_mm[1] - offsets_mm[0]
    band = (np.abs(away) <= max(0.45 * width_mm, 0.6 * step)).astype(float)
    left = ((away <= -near + 1e-9) & (away >= -far - step / 2)).astype(float)
    right = left.T.copy()
    return tuple((m / np.maximum(m.sum(0), 1.0)).astype(np.float32) for m in (band, left, right))


def ridges(values: Floats, offsets_mm: Floats, width_mm: float) -> Floats:
    """How much each sample (..., M) of strips with light strokes looks like the middle of one, in grey codes."""
    band, left, right = ridge_kernel(offsets_mm, width_mm)
    middle = values @ band
    one, other = middle - values @ left, middle - values @ right
    ridge = 0.5 * (0.5 * (one + other) + np.minimum(one, other))
    ridge[..., (left.sum(0) == 0) | (right.sum(0) == 0)] = 0
    return ridge


def find_strokes(
    pixels: NDArray[np.uint8],
    panel: Panel,
    detection: Detection,
    mixture: tuple[float, float, float] | None = None,
) -> Slots:
    """Find the strokes of every place of `detection` in the full-size `pixels`, grey or with a `mixture`."""
    paths, offsets = _strips(panel, detection)
    sign = 1.0 if detection.light else -1.0
    width = detection.stroke_mm
    values = np.float32(sign) * paths.sample(pixels, panel, offsets, sub_rows=1, mixture=mixture)
    ridge = ridges(values, offsets, width)
    radius = paths.along_mm[None, :, None]
    # The neighbours' strips begin half a place away.
    limit = np.tan(np.radians(min(0.5 * detection.pitch_deg, 60.0))) * radius - width
    own = np.abs(offsets)[None, None, :] < limit
    ridge = np.where(own, ridge, 0.0)
    unit = _unit(ridge)
    ridge = np.clip(ridge / unit, 0.0, 1.0)
    noise = median(ridge[ridge > 0]) if (ridge > 0).any() else 0.0
    ridge = _without_diagonals(ridge, paths, offsets, pixels, panel, detection, sign, unit, mixture)
    lines = _greedy(ridge, paths, offsets, detection, width)
    return Slots(tuple(_or_diagonal(found, k, detection) for k, found in enumerate(lines)), unit, noise)


def _or_diagonal(found: tuple[Found, ...], place: int, detection: Detection) -> tuple[Found, ...]:
    """The strokes of a place; where there are none, the construction line that runs there.

    With a place at a corner the spoke is drawn upon the diagonal, or the diagonal is the spoke.
    """
    if found:
        return found
    for line in detection.construction:
        span = (line.outer_mm - line.inner_mm) / line.length_mm
        away = float((line.inner_mm - detection.centre_mm) @ line.across)
        for direction, miss in ((span, away), (-span, -away)):
            angle = float(bearing(direction))
            off = float(abs(wrap(angle - detection.places_deg[place])))
            if off < min(SEARCH_DEG, UPON * detection.pitch_deg) and abs(miss) < MISS_MM + MISS_SD_MM:
                return (Found(angle, miss, 0.0),)
    return ()


def _strips(panel: Panel, detection: Detection) -> tuple[Paths, Floats]:
    """One strip per place, wide enough for a spoke that is off by some millimetres."""
    half = float(np.clip(0.02 * max(panel.width_mm, panel.height_mm), 3.0, 12.0))
    across = float(np.clip(detection.stroke_mm / 4, 0.1, 0.4))
    step = float(np.clip(detection.reach_mm / 240, 0.25, 1.0))
    # Nearer than this to the centre the neighbouring spokes cannot be told apart.
    first = (1.6 + detection.stroke_mm) / (2 * np.sin(np.radians(min(detection.pitch_deg, 90.0)) / 2))
    first = min(first, 0.5 * detection.reach_mm)
    rows = max(2 * BLOCK, int((1.03 * detection.reach_mm - first) / step / BLOCK) * BLOCK)
    angles = np.where(np.isfinite(detection.directions_deg), detection.directions_deg, detection.places_deg)
    offsets = np.arange(-np.ceil(half / across), np.ceil(half / across) + 1) * across
    return Paths.straight(detection.centre_mm, angles, 0.0, first + step * np.arange(rows)), offsets


def _unit(ridge: Floats) -> float:
    """Grey step of a strong stroke: the usual place's ridge where its line is well drawn."""
    highest = ridge.max(2)
    usual, most = quantile(highest, 0.7), quantile(highest, 0.95)
    # Spokes that begin far out are drawn in few of their rows: the others show bare panel.
    strongest = np.where(usual < BARE * most, FAR_OUT * most, usual)
    strong = strongest[strongest >= BARE * strongest.max()]
    return max(median(strong), 1.0)


def _without_diagonals(
    ridge: Floats,
    paths: Paths,
    offsets: Floats,
    pixels: NDArray[np.uint8],
    panel: Panel,
    detection: Detection,
    sign: float,
    unit: float,
    mixture: tuple[float, float, float] | None,
) -> Floats:
    """Take the usual ridge of known corner-to-corner lines away from the strips."""
    for line in detection.construction:
        crossing = paths.offsets_of(line.inner_mm, line.outer_mm)[..., None]
        width = line.width_mm or detection.stroke_mm
        here = np.abs(offsets - crossing) < 0.5 * width + 0.25
        if not here.any():
            continue
        level = _outside_level(line.inner_mm, line.outer_mm, pixels, panel, detection, sign, mixture) / unit
        ridge = np.where(here, np.maximum(ridge - min(level, 1.0), 0.0), ridge)
    return ridge


def _outside_level(
    start: Floats,
    end: Floats,
    pixels: NDArray[np.uint8],
    panel: Panel,
    detection: Detection,
    sign: float,
    mixture: tuple[float, float, float] | None,
) -> float:
    """Median ridge of a line where it runs outside the layout."""
    width = detection.stroke_mm
    offsets = np.linspace(-0.5 * width - 1.3, 0.5 * width + 1.3, 33)
    direction = (end - start) / np.hypot(*(end - start))
    normal = np.array([-direction[1], direction[0]])
    points = start + np.arange(0.0, float(np.hypot(*(end - start))), 1.0)[:, None] * direction
    points = points[np.hypot(*(points - detection.centre_mm).T) > detection.reach_mm + 3]
    if len(points) < 10:
        return 0.0
    rows = sample_rows(pixels, panel, points, np.broadcast_to(normal, points.shape), offsets)
    values = np.asarray(sign * (rows if mixture is None else rows @ np.asarray(mixture, np.float32)), float)
    return max(median(ridges(values, offsets, width)[:, 12:21].max(1)), 0.0)


class _Stacking:
    """Sums of ridges along straight lines of many slopes, by Fourier transforms along the offsets."""

    def __init__(self, paths: Paths, offsets: Floats, slopes: Floats):
        self.count, self.length = len(offsets), BLOCK * paths.step_mm
        at = paths.along_mm.reshape(-1, BLOCK).mean(1)
        turns = np.fft.rfftfreq(2 * self.count) / (offsets[1] - offsets[0])
        shifts = slopes * (at - at.mean())[:, None]
        # In single precision, as the ridges are.
        self.phase = np.exp((2j * np.pi * turns[:, None, None] * shifts).astype(np.complex64))

    def sums(self, ridge: Floats) -> Floats:
        """Sums (S, slopes, M) along lines that cross the middle row at each offset, in mm of strong stroke."""
        places, rows, count = ridge.shape
        blocks = ridge.reshape(places, rows // BLOCK, BLOCK, count).mean(2)
        waves = np.fft.rfft(blocks, 2 * count, axis=2)
        sums = np.matmul(waves.transpose(2, 0, 1), self.phase)
        return np.fft.irfft(sums.transpose(1, 2, 0), 2 * count, axis=2)[..., :count] * self.length


def _greedy(
    ridge: Floats, paths: Paths, offsets: Floats, detection: Detection, width: float
) -> tuple[tuple[Found, ...], ...]:
    """The strongest line of each place, then, with it blanked, the next."""
    search = np.tan(np.radians(min(SEARCH_DEG, 0.45 * detection.pitch_deg)))
    slopes = np.linspace(-search, search, SLOPES)
    middle = float(paths.along_mm.mean())
    favour = _favour(paths, offsets, slopes, middle, detection)
    places = np.arange(len(ridge))
    length = paths.step_mm * len(paths.along_mm)
    found: list[list[Found]] = [[] for _ in places]
    stacking = _Stacking(paths, offsets, slopes)
    for _ in range(LINES):
        sums = stacking.sums(ridge)
        # Bare panel sums to something above nought as well.
        sums = sums - medians(sums.reshape(len(sums), -1))[:, None, None]
        spread = 1.4826 * medians(np.abs(sums).reshape(len(sums), -1))
        score = (sums * favour).reshape(len(ridge), -1)
        best = score.argmax(1)
        slope, offset = slopes[best // len(offsets)], offsets[best % len(offsets)]
        strength = sums.reshape(len(ridge), -1)[places, best]
        for k in places:
            # 5 deviations: one in a million for bare panel, of some thousand lines tried in a place.
            if score[k, best[k]] > max(5 * spread[k], 0.06 * length):
                miss = float(offset[k] - slope[k] * middle)
                angle = float(paths.angle_deg[k] + np.degrees(np.arctan(slope[k])))
                found[k].append(Found(angle, miss, float(strength[k])))
        if not any(score[k, best[k]] > max(5 * spread[k], 0.06 * length) for k in places):
            break
        line = offset[:, None] + slope[:, None] * (paths.along_mm - middle)
        taken = np.abs(offsets - line[..., None]) < 0.5 * width + 0.4
        ridge = np.where(taken, 0.0, ridge)
    return tuple(tuple(lines) for lines in found)


def _favour(paths: Paths, offsets: Floats, slopes: Floats, middle: float, detection: Detection) -> Floats:
    """How well each line (S, slopes, M) suits a spoke: near the centre within, near the even comb without."""
    miss = offsets[None, :] - slopes[:, None] * middle
    beyond = np.maximum(np.abs(miss) - MISS_MM, 0.0) / MISS_SD_MM
    reach = detection.reach_mm
    off_comb = (paths.angle_deg - detection.places_deg + 180) % 360 - 180
    end = offsets[None, :] + slopes[:, None] * (reach - middle)
    end_deg = off_comb[:, None, None] + np.degrees(np.arctan2(end, reach))[None]
    comb = np.exp(-0.25 * (end_deg / min(1.8, 0.2 * detection.pitch_deg)) ** 2)
    return np.exp(-0.5 * beyond**2)[None] * comb
