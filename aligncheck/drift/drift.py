"""The Drift value. Every u95 holds the drawing's own part and the map's part together.

Positive is clockwise throughout; see DEVELOPERS.md for the definitions of ideal, drift, move and miss.
"""

from dataclasses import dataclass
from typing import Literal

from aligncheck.layout import Layout
from aligncheck.marks import Marks, Ring, Spoke

Verdict = Literal["within", "out", "unsure"]


@dataclass(frozen=True)
class StrokeFigures:
    """One piece of a spoke drawn in two strokes."""

    inner_mm: tuple[float, float]
    outer_mm: tuple[float, float]
    angle_deg: float
    angle_u95_deg: float


@dataclass(frozen=True)
class SpokeDrift:
    """One spoke against its ideal place."""

    spoke: Spoke
    angle_deg: float
    angle_u95_deg: float
    ideal_deg: float
    drift_deg: float
    drift_u95_deg: float
    miss_mm: float
    miss_u95_mm: float
    move_mm: float
    move_u95_mm: float
    verdict: Verdict
    strokes: tuple[StrokeFigures, ...] = ()


@dataclass(frozen=True)
class RingDrift:
    """One ring against its ideal radius; `off_centre_mm` is its centre's distance from the layout's centre."""

    ring: Ring
    number: int
    radius_mm: float
    radius_u95_mm: float
    roundness_mm: float
    ideal_radius_mm: float
    drift_mm: float
    drift_u95_mm: float
    off_centre_mm: float
    off_centre_u95_mm: float
    verdict: Verdict


@dataclass(frozen=True)
class Drift:
    """All differences of one panel's marks from their layout, spokes clockwise from 12 o'clock, rings outward."""

    marks: Marks
    layout: Layout
    centre_mm: tuple[float, float]
    centre_u95_mm: float
    spokes_meet_mm: tuple[float, float] | None
    spokes_meet_u95_mm: float | None
    centre_off_panel_mm: float
    centre_off_panel_u95_mm: float
    rotation_deg: float | None
    rotation_u95_deg: float | None
    ring_pitch_mm: float | None
    tolerance_mm: float
    spokes: tuple[SpokeDrift, ...]
    rings: tuple[RingDrift, ...]
