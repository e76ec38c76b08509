"""Each petal of a row on its own: tip, both base points and fullness of both sides, fitted to the chalk."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.search import RowShape
from aligncheck.rows.shapes import TERMS, bow_slopes, bow_terms, stations, step_lengths

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Points along a side, and steps across it, mm.
POINTS, ACROSS_STEP_MM = 32, 0.2
#: How far across its line a side is looked for, round after round, mm.
WINDOWS_MM = (2.2, 1.6, 1.2, 0.9, 0.7, 0.6)
#: How much petals of one row differ by hand: base points, tip across and along, mm; fullness as share of the chord.
BASE_SD_MM, TIP_ACROSS_SD_MM, TIP_ALONG_SD_MM, FULLNESS_SD = 2.0, 2.0, 3.0, 0.03
#: Where a tip may lie: further in where the petal was drawn short, mm, and steps tried.
TIP_ALONG_MM, TIP_ACROSS_MM = np.arange(-14.0, 6.01, 1.0), np.arange(-3.0, 3.01, 1.0)
#: What is known of a side at one point, mm: half a chalk line's width, as grain goes along it for some millimetres.
POINT_SD_MM = 0.5


#: A row's tips are known no better than this in common, mm: strokes thin out before they end.
COMMON_SD_MM = 0.25
#: Evidence of a usual stroke is not taken for less; and the share of it below which a place is bare.
LEAST_LEVEL, BARE_SHARE = 0.4, 0.5
#: Where less than this is seen of a place a known line lies on it.
SHOWN = 0.6


@dataclass(frozen=True)
class Frame:
    """Axes of a row's petals.

    Attributes
    ----------
    centre_mm : ndarray (2,)
    outward, clockwise : ndarray (petals, 2)
    places : ndarray (petals,)
        Which places of the row these are, clockwise from the first spoke, from 0.
    """

    centre_mm: Floats
    outward: Floats
    clockwise: Floats
    places: NDArray[np.int64]

    def to_panel(self, points: Floats) -> Floats:
        """Points (petals, ..., 2) across, along an axis to panel mm."""
        extra = (slice(None),) + (None,) * (points.ndim - 2)
        return np.asarray(
            self.centre_mm + points[..., 0:1] * self.clockwise[extra] + points[..., 1:2] * self.outward[extra],
            float,
        )


def frame_of(
    centre_mm: Floats, segments: int, rotation_deg: float, between: float, places: NDArray[np.int64] | None = None
) -> Frame:
    """Axes of a row's petals, all or those at `places`, clockwise from the first spoke; `between` in half segments."""
    places = np.arange(segments) if places is None else places
    angle = np.radians(rotation_deg + 360.0 / segments * (places + between / 2))
    s, c = np.sin(angle), np.cos(angle)
    return Frame(np.asarray(centre_mm, float), np.column_stack([s, -c]), np.column_stack([c, s]), places)


@dataclass(frozen=True)
class RowFit:
    """A row's petals.

    Attributes
    ----------
    shape : RowShape
        What they have in common.
    frame : Frame
    numbers : ndarray (petals, 8)
        Tip, clockwise base, other base (each across, along), fullness beyond the row's of the clockwise and other side.
    support : ndarray (petals, 2)
        Evidence along the clockwise and the other side, 0 to 1.
    covariance : ndarray (petals, 8, 8)
    common_sd_mm : float
        How well its tips are known in common, along their axes.
    hidden_mm : float
        How far they were moved out under spokes that hide them.
    """

    shape: RowShape
    frame: Frame
    numbers: Floats
    support: Floats
    covariance: Floats
    common_sd_mm: float = COMMON_SD_MM
    hidden_mm: float = 0.0


def fit_quickly(chalk: ChalkMap, blurred: ChalkMap, frame: Frame, shape: RowShape) -> RowFit:
    """Fit all petals well enough to tell whether they are there."""
    return rounds(chalk, frame, shape, _start(blurred, frame, shape), WINDOWS_MM[::2])


def rounds(
    chalk: ChalkMap,
    frame: Frame,
    shape: RowShape,
    numbers: Floats,
    windows_mm: Sequence[float],
    shape_free: bool = True,
) -> RowFit:
    """Fit petals, and their common shape unless it is known, in turn, looking less far each round."""
    t = stations(POINTS)
    covariance = np.zeros((len(numbers), 8, 8))
    for k, window in enumerate(windows_mm):
        nominal = _nominal(numbers)
        moved, weight, design = _look(chalk, frame, shape, numbers, t, window)
        numbers, covariance = _solve(moved, weight, design, numbers, nominal)
        if shape_free and k < len(windows_mm) - 1:
            shape = _share(chalk, frame, shape, numbers, t, window)
    points, normals = sides(shape, numbers, t)
    found, seen = evidence(chalk, frame, points, normals)
    return RowFit(shape, frame, numbers, found.sum(-1) / seen.sum(-1), covariance)


def explained(chalk: ChalkMap, fit: RowFit, points: int) -> Floats:
    """Length of chalk (petals, 2, points) along both sides, mm, less what a bare panel would have needed."""
    places, normals = sides(fit.shape, fit.numbers, stations(points))
    found, seen = evidence(chalk, fit.frame, places, normals)
    length = step_lengths(places)
    level = max(float(np.median(fit.support)), LEAST_LEVEL)
    return np.asarray(worth(found, seen, level) * length, float)


def worth(found: Singles, seen: Singles, level: float) -> Floats:
    """What a place speaks for an outline through it, a full stroke's half at most: less than half a stroke against it.

    A known line speaks against what is not there, and never for it: its own chalk lies along it.
    """
    gain = np.minimum(found / level, seen) - BARE_SHARE * seen
    return np.asarray(np.where(seen < SHOWN, np.minimum(gain, 0.0), gain), float)


def sides(shape: RowShape, numbers: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Points and unit normals (petals, 2, points, 2) of the clockwise and the other side, across and along the axis."""
    tip = numbers[:, None, 0:2]
    chord = np.stack([numbers[:, 2:4], numbers[:, 4:6]], 1) - tip
    # Away from the axis: the chord turned, one way for the clockwise side and the other way for the other.
    turn = np.array([1.0, -1.0])[:, None]
    out = np.stack([-chord[..., 1], chord[..., 0]], -1) * turn
    full = numbers[:, 6:8, None]
    bow = bow_terms(t) @ shape.bow + full * bow_terms(t)[:, 0]
    slope = bow_slopes(t) @ shape.bow + full * bow_slopes(t)[:, 0]
    points = tip[:, :, None] + t[:, None] * chord[:, :, None] + bow[..., None] * out[:, :, None]
    tangent = chord[:, :, None] + slope[..., None] * out[:, :, None]
    normal = np.stack([tangent[..., 1], -tangent[..., 0]], -1)
    return points, normal / np.linalg.norm(normal, axis=-1, keepdims=True)


def tensors(chalk: ChalkMap, frame: Frame, points: Floats) -> Singles:
    """Tensor across and along the axis, and what can be seen (petals, ..., 4), at points (petals, ..., 2)."""
    there = frame.to_panel(points)
    # OpenCV takes pictures up to 32767 on a side.
    xx, xy, yy, seen = np.moveaxis(
        chalk.sample(there.reshape(-1, there.shape[-2], 2)).reshape(*there.shape[:-1], 4), -1, 0
    )
    extra = (slice(None),) + (None,) * (points.ndim - 2)
    across, along = frame.clockwise[extra], frame.outward[extra]

    def component(p: Floats, q: Floats) -> Floats:
        both = p[..., 0] * q[..., 1] + p[..., 1] * q[..., 0]
        return np.asarray(p[..., 0] * q[..., 0] * xx + both * xy + p[..., 1] * q[..., 1] * yy, float)

    parts = component(across, across), component(across, along), component(along, along), seen
    return np.stack(parts, -1).astype(np.float32)


def evidence(chalk: ChalkMap, frame: Frame, points: Floats, normals: Floats) -> Singles:
    """Evidence and what of it can be seen (2, petals, ...) at points with unit normals (petals, ..., 2)."""
    uu, uv, vv, seen = np.moveaxis(tensors(chalk, frame, points), -1, 0)
    found = normals[..., 0] ** 2 * uu + 2 * normals[..., 0] * normals[..., 1] * uv + normals[..., 1] ** 2 * vv
    return np.stack([np.maximum(found, 0), seen]).astype(np.float32)


def _start(blurred: ChalkMap, frame: Frame, shape: RowShape) -> Floats:
    """The row's shape at every petal, each with the tip, on a grid, that most chalk supports."""
    count = len(frame.outward)
    row = np.array(
        [0, shape.tip_mm, shape.base_across_mm, shape.base_along_mm, -shape.base_across_mm, shape.base_along_mm, 0, 0]
    )
    across, along = (g.ravel() for g in np.meshgrid(TIP_ACROSS_MM, TIP_ALONG_MM))
    tries = np.repeat(row[None], len(across), 0)
    tries[:, 0] += across
    tries[:, 1] += along
    points, normals = sides(shape, tries, stations(16))
    shape4 = (count, *points.shape)
    found, seen = evidence(blurred, frame, np.broadcast_to(points, shape4), np.broadcast_to(normals, shape4))
    in_parts = (count, len(tries), 8, 4)
    parts = found.reshape(in_parts).sum(-1) / (seen.reshape(in_parts).sum(-1) + 0.5)
    score = 0.5 * parts.mean(-1) + 0.5 * np.sort(parts, -1)[..., :4].mean(-1)
    score -= 0.04 * np.log1p((across / TIP_ACROSS_SD_MM) ** 2 + (along / TIP_ALONG_SD_MM) ** 2)
    return tries[score.argmax(1)]


def _nominal(numbers: Floats) -> Floats:
    """What each petal is held to: the row's middle; a tip may lie anywhere along its axis, so it is held to itself."""
    middle = np.median(numbers, axis=0)
    across, along = (middle[2] - middle[4]) / 2, (middle[3] + middle[5]) / 2
    nominal = np.repeat(np.array([0, middle[1], across, along, -across, along, 0, 0])[None], len(numbers), 0)
    far = np.abs(numbers[:, 1] - middle[1]) > TIP_ALONG_SD_MM
    nominal[far, 1] = numbers[far, 1]
    return nominal


def _look(
    chalk: ChalkMap, frame: Frame, shape: RowShape, numbers: Floats, t: Floats, window_mm: float
) -> tuple[Floats, Floats, Floats]:
    """Where chalk lies across each side: offset, weight (petals, 2, points), and the offset's derivatives (..., 8)."""
    points, normals = sides(shape, numbers, t)
    steps = np.arange(-window_mm, window_mm + 1e-6, ACROSS_STEP_MM)
    spread = points[..., None, :] + steps[:, None] * normals[..., None, :]
    found, _ = evidence(chalk, frame, spread, normals[..., None, :])
    near = found**2 * np.exp(-0.5 * (steps / (0.6 * window_mm)) ** 2)
    total = near.sum(-1)
    offset = (near * steps).sum(-1) / np.maximum(total, 1e-9)
    # The evidence at the place found, not the most in the window.
    weight = found.max(-1) * (total > 1e-6)
    return offset.astype(float), weight.astype(float), _design(shape, numbers, normals, t)


def _design(shape: RowShape, numbers: Floats, normals: Floats, t: Floats) -> Floats:
    """Derivatives (petals, 2, points, 8) of a point's place along its normal by the petal's numbers."""
    bow = bow_terms(t) @ shape.bow + numbers[:, 6:8, None] * bow_terms(t)[:, 0]
    design = np.zeros((*normals.shape[:-1], 8))
    for side, (first, turn) in enumerate(((2, 1.0), (4, -1.0))):
        nu, nv = normals[:, side, :, 0], normals[:, side, :, 1]
        b = bow[:, side]
        # out = turn (-chord_v, chord_u): a step of the chord in u moves out along v, a step in v against u.
        by_chord_u, by_chord_v = nu * t + nv * turn * b, nv * t - nu * turn * b
        design[:, side, :, first], design[:, side, :, first + 1] = by_chord_u, by_chord_v
        design[:, side, :, 0], design[:, side, :, 1] = nu - by_chord_u, nv - by_chord_v
        chord = numbers[:, first : first + 2] - numbers[:, 0:2]
        hump = bow_terms(t)[:, 0]
        design[:, side, :, 6 + side] = hump * turn * (-nu * chord[:, 1:2] + nv * chord[:, 0:1])
    return design


def _solve(offset: Floats, weight: Floats, design: Floats, numbers: Floats, nominal: Floats) -> tuple[Floats, Floats]:
    """One step of every petal: weighted least squares with what hands do as the prior."""
    count = len(numbers)
    a = design.reshape(count, -1, 8)
    w = weight.reshape(count, -1) / POINT_SD_MM**2
    prior = 1 / np.array([TIP_ACROSS_SD_MM, TIP_ALONG_SD_MM, *(BASE_SD_MM,) * 4, FULLNESS_SD, FULLNESS_SD]) ** 2
    weighted = (a * w[..., None]).transpose(0, 2, 1)
    normal = weighted @ a + np.diag(prior)
    right = (weighted @ offset.reshape(count, -1, 1))[..., 0] + prior * (nominal - numbers)
    step = np.linalg.solve(normal, right[..., None])[..., 0]
    return np.asarray(numbers + step, float), np.asarray(np.linalg.inv(normal), float)


def _share(chalk: ChalkMap, frame: Frame, shape: RowShape, numbers: Floats, t: Floats, window_mm: float) -> RowShape:
    """The row's bow, mended by what all its sides leave over."""
    offset, weight, _ = _look(chalk, frame, shape, numbers, t, window_mm)
    _, normals = sides(shape, numbers, t)
    chord = np.stack([numbers[:, 2:4], numbers[:, 4:6]], 1) - numbers[:, None, 0:2]
    out = np.stack([-chord[..., 1], chord[..., 0]], -1) * np.array([1.0, -1.0])[:, None]
    along = (normals * out[:, :, None]).sum(-1)
    a = (along[..., None] * bow_terms(t)).reshape(-1, TERMS)
    w = weight.ravel()
    normal = a.T @ (w[:, None] * a) + np.diag(1 / np.array([0.1, 0.05, 0.1, 0.03]) ** 2)
    step = np.linalg.solve(normal, a.T @ (w * offset.ravel()))
    return replace(shape, bow=tuple(np.array(shape.bow) + step))
