"""Rows of petals in the folded map: the outline that most chalk supports, then the next, until nothing is left."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.fold import INNERMOST_MM, Sector
from aligncheck.rows.shapes import bow_slopes, bow_terms, stations

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Points along a side, and parts whose weaker half counts more than the whole.
POINTS, PARTS = 20, 4
#: Share of a full stroke that an outline must have to gain anything.
LEAST_SUPPORT = 0.25
#: What is hidden by known lines speaks neither way, but not so little that chance there counts.
HIDDEN = 0.15
#: How much the bow's terms vary from maker to maker, and what a petal as odd as that must gain more, mm.
BOW_SD, ODD_MM = np.array([0.2, 0.1, 0.3, 0.05], np.float32), 0.5
#: Grid, mm: tips, bases, and the shortest petal.
TIP_STEP_MM, BASE_STEP_MM, SHORTEST_MM = 2.0, 4.0, 10.0
#: Width of the base as a share of half a segment.
WIDTHS = (0.2, 0.4, 0.6, 0.8, 1.0)
#: Candidates kept of each tip radius.
KEPT = 12
#: Candidates handed on, and how far these must differ, mm.
MOST, UNLIKE_TIP_MM, UNLIKE_BASE_MM = 40, 3.0, 6.0


@dataclass(frozen=True)
class RowShape:
    """One row's petal, mirrored about its axis, in mm from the centre.

    `between`: where the axis lies, in halves of a segment from a spoke: 0 on it, 1 halfway to the next. `bow` (TERMS,)
    is in shares of the chord from base to tip.
    """

    between: float
    tip_mm: float
    base_along_mm: float
    base_across_mm: float
    bow: tuple[float, ...]
    support: float = 0.0
    gain: float = 0.0

    @property
    def numbers(self) -> Floats:
        """Tip, base along, base across, bow."""
        return np.array([self.tip_mm, self.base_along_mm, self.base_across_mm, *self.bow])


def likely_rows(sectors: Sequence[Sector], level: float, most: int = MOST) -> list[RowShape]:
    """Outlines that much chalk supports, unlike each other, the strongest first, at most so many; `level` of a stroke.

    They are not yet rows: one that runs down the side of one petal and on along another's is among them.
    """
    grid = sorted((shape for sector in sectors for shape in _grid(sector, level)), key=lambda one: -one.gain)
    chosen: list[RowShape] = []
    for shape in grid:
        if all(_unlike(shape, other) for other in chosen):
            chosen.append(shape)
        if len(chosen) == most:
            break
    beside = {sector.between: sector for sector in sectors}
    return [_polish(beside[shape.between], shape, level) for shape in chosen]


def _unlike(one: RowShape, other: RowShape) -> bool:
    """Whether two outlines are different readings of the chalk, not neighbours in the grid."""
    apart = np.abs(one.numbers - other.numbers)[:3]
    return one.between != other.between or bool(apart[0] > UNLIKE_TIP_MM or np.hypot(*apart[1:]) > UNLIKE_BASE_MM)


def stroke_level(sectors: Sequence[Sector]) -> float:
    """What the folded map shows on a well repeated stroke."""
    trace = sectors[0].tensor[..., 0] + sectors[0].tensor[..., 2]
    return float(np.percentile(trace, 98))


def bows() -> Floats:
    """Bows to try (n, 4): leaves of all fullness, ogees, round ends."""
    leaves = [(b, s, 0.0, 0.0) for b in (0.0, 0.08, 0.16, 0.26) for s in (-0.08, 0.0, 0.08)]
    rounds = [(b, 0.0, q, 0.0) for q in (0.12, 0.22, 0.34) for b in (-0.05, 0.05)]
    return np.array(leaves + rounds)


def gains(sector: Sector, numbers: Floats, level: float) -> tuple[Floats, Floats]:
    """Gain and support (n,) of shapes `numbers` (n, 3 + TERMS): tip, base along, base across, bow.

    Gain is evidence beyond chance times length; support the share of a full stroke that the weaker parts have.
    """
    t = stations(POINTS)
    shape = numbers.astype(np.float32)
    tip, along, across = (shape[:, k : k + 1] for k in range(3))
    chord_v, chord_u = along - tip, across
    tt = t.astype(np.float32)
    bow = shape[:, 3:] @ bow_terms(t).T.astype(np.float32)
    slope = shape[:, 3:] @ bow_slopes(t).T.astype(np.float32)
    # The bow lies along the chord's normal on the side away from the axis, (-chord_v, chord_u).
    u, v = chord_u * tt - chord_v * bow, tip + chord_v * tt + chord_u * bow
    du, dv = chord_u - chord_v * slope, chord_v + chord_u * slope
    speed = np.sqrt(du * du + dv * dv)
    found, seen = sector.evidence(u, v, dv / speed, -du / speed)
    # Stations are dense at the tip: weigh each by the length it stands for, and by how much of it can be seen.
    length = speed * np.gradient(tt)
    weight = length * seen
    parts = _by_part(found * length) / (_by_part(weight) + HIDDEN * _by_part(length))
    worst = np.sort(parts, axis=1)[:, : PARTS // 2].mean(1)
    support = (0.4 * parts.mean(1) + 0.6 * worst) / level
    # A side that crosses its own axis is no petal's.
    sound = (u.min(1) > -1.0) & (v.max(1) < sector.outermost_mm) & (speed.min(1) > 0)
    odd = ((shape[:, 3:] / BOW_SD) ** 2).sum(1)
    return np.where(sound, weight.sum(1) * (support - LEAST_SUPPORT) - ODD_MM * odd, -1e3), np.where(
        sound, support, 0.0
    )


def _by_part(values: Singles) -> Singles:
    """Sums (n, PARTS) of values (n, POINTS) over the parts of a side."""
    return np.asarray(values.reshape(len(values), PARTS, -1).sum(2), np.float32)


def _grid(sector: Sector, level: float) -> list[RowShape]:
    """The best of a coarse grid, some for every tip radius."""
    shapes, found = bows(), []
    for tip in np.arange(INNERMOST_MM + 14, sector.outermost_mm, TIP_STEP_MM):
        base = np.arange(max(INNERMOST_MM + 2, 0.25 * tip), tip - SHORTEST_MM, BASE_STEP_MM)
        r, w, k = (p.ravel() for p in np.meshgrid(base, WIDTHS, np.arange(len(shapes)), indexing="ij"))
        a = w * sector.half_rad
        numbers = np.column_stack([np.full(len(r), tip), r * np.cos(a), r * np.sin(a), shapes[k]])
        gain, support = gains(sector, numbers, level)
        best = [i for i in np.argsort(-gain)[:KEPT] if gain[i] > 0]
        found += [_shape(sector.between, numbers[i], support[i], gain[i]) for i in best]
    return found


def _polish(sector: Sector, start: RowShape, level: float, rounds: int = 8) -> RowShape:
    """Random steps that shrink, keeping the best."""
    rng = np.random.default_rng(1)
    now, gain, support = start.numbers, start.gain, start.support
    size = np.array([1.5, 2.5, 1.5, 0.05, 0.05, 0.06, 0.02])
    for k in range(rounds):
        tries = now + size * 0.8**k * rng.standard_normal((150, len(now)))
        g, s = gains(sector, tries, level)
        i = int(np.argmax(g))
        if g[i] > gain:
            now, gain, support = tries[i], g[i], s[i]
    return _shape(sector.between, now, support, gain)


def _shape(between: float, n: Floats, support: float, gain: float) -> RowShape:
    return RowShape(
        between, float(n[0]), float(n[1]), float(n[2]), tuple(map(float, n[3:])), float(support), float(gain)
    )


def outline(shape: RowShape, t: Floats) -> tuple[Floats, Floats]:
    """Points (n, 2) across and along the axis of the clockwise side at shares `t` from the tip, and unit normals."""
    chord = np.array([shape.base_across_mm, shape.base_along_mm - shape.tip_mm])
    out = np.array([-chord[1], chord[0]])
    bow, slope = bow_terms(t) @ shape.bow, bow_slopes(t) @ shape.bow
    points = np.array([0, shape.tip_mm]) + t[:, None] * chord + bow[:, None] * out
    tangent = chord + slope[:, None] * out
    return points, np.column_stack([tangent[:, 1], -tangent[:, 0]]) / np.hypot(*tangent.T)[:, None]
