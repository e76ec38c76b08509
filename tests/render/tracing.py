"""Rows of petals traced by hand: outlines of many makers, on spokes and between, each petal a little its own."""

from dataclasses import dataclass, replace
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.render.drawing import Drawing, Petal, Point

Floats = NDArray[np.float64]
Outline = Literal["pointed", "ogee", "arch", "leaf", "drop", "heart", "scallop"]

#: Samples of one side, base to tip.
SAMPLES = 240


@dataclass(frozen=True)
class TracedRow:
    """One row as planned.

    `base_share`: half the widest place as a share of half a segment there. `under`: the row before lies on top, so that
    only what sticks out is traced. `only`: of these spokes alone. `short`: (spoke, mm) of one petal drawn short.
    """

    between: bool
    base_mm: float
    tip_mm: float
    outline: Outline = "pointed"
    base_share: float = 0.8
    under: bool = False
    only: tuple[int, ...] | None = None
    short: tuple[int, float] | None = None


@dataclass(frozen=True)
class TracingHand:
    """How far a hand strays, standard deviations in mm: tip, base, and how the line wavers between."""

    tip_mm: float = 0.6
    base_mm: float = 0.6
    waver_mm: float = 0.2


def half_width(outline: Outline, s: Floats) -> Floats:
    """Half the width of a petal, largest 1, at shares `s` of the way from its base to its tip.

    Each is a plain curve of its own, none of them made from what the package fits.
    """
    if outline == "pointed":
        # Two arcs that bow out and meet at an angle.
        return np.asarray((1 - s) * (1 + 0.9 * s) / 1.0028, float)
    if outline == "ogee":
        # Full below, drawn in to a slender tip: a cosine that ends without slope.
        return np.asarray((0.5 + 0.5 * np.cos(np.pi * s)) * (1 - s) ** 0.3, float)
    if outline == "arch":
        # Straight sides under a half ellipse.
        return np.sqrt(np.clip(1 - np.clip((s - 0.45) / 0.55, 0, 1) ** 2, 0, 1))
    if outline == "leaf":
        # Closed to a point at both ends.
        return np.asarray(np.sin(np.pi * s) ** 0.9, float)
    if outline == "drop":
        # A point at the base, round at the tip: widest two thirds of the way.
        return np.asarray(s * np.sqrt(1 - s) / 0.3849, float)
    if outline == "scallop":
        # Half an ellipse: round, and widest at its base.
        return np.sqrt(np.clip(1 - s**2, 0, 1))
    # A heart that points outward: two lobes at a notch in the base.
    return np.asarray(np.sqrt(s) * (1 - s) ** 1.2 / 0.3571, float)


def widest_at(outline: Outline) -> float:
    """Share of the way from base to tip at which a petal is widest."""
    s = np.linspace(0, 1, 501)
    return float(s[half_width(outline, s).argmax()])


def traced(drawing: Drawing, rows: tuple[TracedRow, ...], seed: int, *, width_mm: float = 0.9,
           hand: TracingHand | None = None) -> Drawing:  # fmt: skip
    """The drawing with `rows` of petals traced about its centre mark."""
    hand, rng = hand or TracingHand(), np.random.default_rng([seed, 31])
    petals: list[Petal] = []
    for number, row in enumerate(rows, 1):
        above = [np.concatenate([p.sides_mm[0], p.sides_mm[1][::-1]]) for p in petals if p.sides_mm]
        spokes = range(drawing.segments) if row.only is None else row.only
        under = above if row.under else []
        petals += [_petal(drawing, row, number, spoke, width_mm, hand, rng, under) for spoke in spokes]
    return replace(drawing, petals=tuple(petals))


def _petal(
    drawing: Drawing,
    row: TracedRow,
    number: int,
    spoke: int,
    width_mm: float,
    hand: TracingHand,
    rng: np.random.Generator,
    above: list[Floats],
) -> Petal:
    angle = drawing.rotation_deg + 360.0 / drawing.segments * (spoke + row.between / 2)
    a = np.radians(angle)
    out, across = np.array([np.sin(a), -np.cos(a)]), np.array([np.cos(a), np.sin(a)])
    missing = row.short[1] if row.short and row.short[0] == spoke else 0.0
    tip = np.array([0.0, row.tip_mm - missing]) + rng.normal(0, hand.tip_mm, 2)
    base = np.array([0.0, row.base_mm]) + rng.normal(0, hand.base_mm, 2)
    at = row.base_mm + widest_at(row.outline) * (row.tip_mm - row.base_mm)
    reach = row.base_share * at * np.tan(np.pi / drawing.segments)
    s = 0.5 - 0.5 * np.cos(np.linspace(0, np.pi, SAMPLES))
    centre = np.asarray(drawing.centre_mark_mm)
    sides = []
    for turn in (1.0, -1.0):
        wide = (reach + rng.normal(0, hand.base_mm)) * half_width(row.outline, s)
        # Slow wavering that leaves tip and base where they are.
        wave = sum(rng.normal(0, hand.waver_mm / k) * np.sin(np.pi * k * s) for k in (1, 2, 3))
        local = base + s[:, None] * (tip - base) + (turn * (wide + wave))[:, None] * (1.0, 0.0)
        sides.append(np.asarray(centre + local[:, :1] * across + local[:, 1:] * out, float))
    point = centre + tip[0] * across + tip[1] * out
    return Petal(
        row=number,
        spoke=spoke,
        tip_mm=(float(point[0]), float(point[1])),
        base_mm=(_as_point(sides[0][0]), _as_point(sides[1][0])),
        width_mm=width_mm,
        plan_angle_deg=float(angle),
        plan_tip_radius_mm=row.tip_mm,
        short=missing >= 5.0,
        sides_mm=tuple(sides),
        drawn_mm=tuple(run for side in sides for run in _visible(side, above)),
    )


def _visible(path: Floats, above: list[Floats]) -> list[Floats]:
    """The runs of a path (n, 2) that none of the outlines `above` covers, each longer than two samples."""
    hidden = np.zeros(len(path), bool)
    for outline in above:
        polygon = outline.astype(np.float32).reshape(-1, 1, 2)
        hidden |= np.array([cv2.pointPolygonTest(polygon, (float(x), float(y)), False) > 0 for x, y in path])
    edges = np.flatnonzero(np.diff(np.concatenate([[True], hidden, [True]]).astype(int)))
    return [path[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 2]


def _as_point(xy: Floats) -> Point:
    return float(xy[0]), float(xy[1])
