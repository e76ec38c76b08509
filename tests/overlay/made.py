"""Drifts made from plain figures, by the definitions of ideal, drift and move, without measuring anything."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from aligncheck.drift import Drift, RingDrift, SpokeDrift
from aligncheck.drift.drift import Verdict
from aligncheck.geometry.angles import bearing, clockwise, outward, wrap
from aligncheck.layout import Layout
from aligncheck.lens import Lens
from aligncheck.marks import Centre, Marks, Ring, Spoke
from aligncheck.notes import Note
from aligncheck.panel import Panel

NOTHING = np.zeros((2, 2))


@dataclass(frozen=True)
class MadeCheck:
    drift: Drift
    notes: tuple[Note, ...] = ()


def level_panel(width_mm: float = 300.0, height_mm: float = 300.0, px_per_mm: float = 4.0) -> Panel:
    """A panel seen from straight above, with a margin of a tenth around it."""
    w, h = width_mm * px_per_mm, height_mm * px_per_mm
    corners = np.array([[0, 0], [w, 0], [w, h], [0, h]]) + 0.1 * max(w, h)
    return Panel.from_corners(width_mm, height_mm, Lens(2 * w, w * 0.6, h * 0.6), corners)


def verdict(value: float, u95: float, tolerance: float) -> Verdict:
    if abs(value) - u95 > tolerance:
        return "out"
    return "within" if abs(value) + u95 <= tolerance else "unsure"


def made_drift(
    panel: Panel,
    ends_mm: Sequence[tuple[Sequence[float], Sequence[float]]],
    rings_mm: Sequence[tuple[Sequence[float], float, float]] = (),
    centre_mm: Sequence[float] = (0.0, 0.0),
    u95_mm: float = 0.2,
    tolerance_mm: float = 1.0,
    segments: int | None = None,
    places: Sequence[int] | None = None,
) -> Drift:
    """`ends_mm`: inner and outer end of each spoke; `rings_mm`: centre, radius, ideal radius of each ring."""
    centre = np.array(centre_mm, float)
    n = segments or len(ends_mm)
    ends = sorted(((np.array(a, float), np.array(b, float)) for a, b in ends_mm), key=lambda e: bearing(e[1] - centre))
    numbers = list(places) if places is not None else list(range(len(ends)))
    bearings = np.array([float(bearing(outer - centre)) for _, outer in ends])
    steps = np.array([360.0 * k / n for k in numbers])
    first = bearings[0] - steps[0] if len(ends) else 0.0
    rotation = first + float(np.median(wrap(bearings - steps - first))) if len(ends) else 0.0
    spokes = tuple(
        _spoke(inner, outer, centre, rotation + 360.0 * k / n, k, u95_mm, tolerance_mm)
        for (inner, outer), k in zip(ends, numbers, strict=True)
    )
    rings = tuple(
        _ring(np.array(c, float), r, ideal, k + 1, centre, u95_mm, tolerance_mm)
        for k, (c, r, ideal) in enumerate(rings_mm)
    )
    marks = Marks(
        panel, Centre(centre, NOTHING, "mark"), None, n, tuple(s.spoke for s in spokes), tuple(r.ring for r in rings)
    )
    layout = Layout(tolerance_mm=tolerance_mm)
    x, y = float(centre[0]), float(centre[1])
    off = float(np.hypot(x, y))
    return Drift(
        marks, layout, (x, y), 0.1, None, None, off, 0.2, rotation % (360.0 / max(n, 1)), 0.1, None, tolerance_mm,
        spokes, rings,
    )  # fmt: skip


def _spoke(inner, outer, centre, ideal_deg, place, u95_mm, tolerance_mm) -> SpokeDrift:
    spoke = Spoke(inner, outer, NOTHING, place=place)
    move = -float((outer - centre) @ clockwise(ideal_deg))
    return SpokeDrift(
        spoke=spoke,
        angle_deg=spoke.angle_deg,
        angle_u95_deg=0.1,
        ideal_deg=ideal_deg % 360.0,
        drift_deg=float(wrap(spoke.angle_deg - ideal_deg)),
        drift_u95_deg=0.1,
        miss_mm=float((inner - centre) @ clockwise(spoke.angle_deg)),
        miss_u95_mm=0.1,
        move_mm=move,
        move_u95_mm=u95_mm,
        verdict=verdict(move, u95_mm, tolerance_mm),
    )


def _ring(centre, radius, ideal, number, layout_centre, u95_mm, tolerance_mm) -> RingDrift:
    return RingDrift(
        ring=Ring(centre, radius, np.zeros((3, 3))),
        number=number,
        radius_mm=radius,
        radius_u95_mm=u95_mm,
        roundness_mm=0.1,
        ideal_radius_mm=ideal,
        drift_mm=radius - ideal,
        drift_u95_mm=u95_mm,
        off_centre_mm=float(np.hypot(*(centre - layout_centre))),
        off_centre_u95_mm=0.1,
        verdict=verdict(radius - ideal, u95_mm, tolerance_mm),
    )


def even_spokes(
    n: int, moves_mm: Sequence[float], inner_mm: float = 8.0, outer_mm: float = 110.0, turn_deg: float = 0.0
) -> list[tuple[list[float], list[float]]]:
    """Ends of `n` evenly spread spokes, each with its outer end beside its place so that `moves_mm` mends it."""
    ends = []
    for k, move in enumerate(moves_mm):
        a = turn_deg + 360.0 * k / n
        outer = outer_mm * outward(a) - move * clockwise(a)
        ends.append(((inner_mm * outward(a)).tolist(), outer.tolist()))
    return ends
