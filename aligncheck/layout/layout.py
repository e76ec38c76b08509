"""The Layout value: what the painter means to draw. None means: take it from the marks."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Layout:
    """The ideal. Lengths in mm, angles in degrees clockwise from 12 o'clock."""

    segments: int | None = None
    rotation_deg: float | None = None
    ring_radii_mm: tuple[float, ...] | None = None
    ring_pitch_mm: float | None = None
    centre: Literal["mark", "panel"] = "mark"
    edge_margin_mm: float | None = None
    tolerance_mm: float = 1.0
