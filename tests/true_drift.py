"""What an exact check would say of a rendered panel, straight from its truth and the definitions in DEVELOPERS.md.

Written apart from the package's own `drift`, so that one checks the other.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class TrueSpoke:
    inner_mm: Floats
    outer_mm: Floats
    angle_deg: float
    ideal_deg: float
    move_mm: float
    miss_mm: float


@dataclass(frozen=True)
class TrueRing:
    centre_mm: Floats
    radius_mm: float
    number: int
    drift_mm: float


@dataclass(frozen=True)
class TrueDrift:
    """Spokes in the order of the truth; nearest measured one by `nearest`."""

    centre_mm: Floats
    rotation_deg: float
    spokes: tuple[TrueSpoke, ...]
    rings: tuple[TrueRing, ...]

    def nearest_spoke(self, angle_deg: float) -> TrueSpoke:
        return min(self.spokes, key=lambda s: abs(turned(s.angle_deg - angle_deg)))

    def nearest_ring(self, radius_mm: float) -> TrueRing:
        return min(self.rings, key=lambda r: abs(r.radius_mm - radius_mm))


def turned(angle_deg: float) -> float:
    """The same angle in -180 .. 180."""
    return (angle_deg + 180.0) % 360.0 - 180.0


def _bearing(v: Floats) -> float:
    return float(np.degrees(np.arctan2(v[0], -v[1])) % 360)


def true_drift(truth: dict[str, Any], rotation_deg: float | None = None) -> TrueDrift:
    """Ideal, drift and move of every spoke and ring of `truth`; the rotation is free unless given."""
    centre = np.array(truth["centre_mark_mm"])
    inner = [np.array(s["inner_mm"]) for s in truth["spokes"]]
    outer = [np.array(s.get("extension_outer_mm", s["outer_mm"])) for s in truth["spokes"]]
    count = truth["segments"]
    bearings = [_bearing(o - centre) for o in outer]
    # Places count from the first spoke; the truth lists them in order.
    off = [turned(b - bearings[0] - 360 * k / count) for k, b in enumerate(bearings)]
    rotation = bearings[0] + float(np.median(off)) if rotation_deg is None and off else (rotation_deg or 0.0)
    spokes = []
    for k, (i, o) in enumerate(zip(inner, outer, strict=True)):
        ideal = np.radians(rotation + 360 * k / count)
        angle = _bearing(o - i)
        a = np.radians(angle)
        move = -float((o - centre) @ (np.cos(ideal), np.sin(ideal)))
        miss = float((i - centre) @ (np.cos(a), np.sin(a)))
        spokes.append(TrueSpoke(i, o, angle, float(np.degrees(ideal) % 360), move, miss))
    radii = np.array([r["radius_mm"] for r in truth["rings"]])
    numbers = np.round(radii / truth["ring_pitch_mm"]).astype(int) if len(radii) else np.zeros(0, int)
    pitch = float((numbers * radii).sum() / (numbers**2).sum()) if len(radii) else 0.0
    rings = tuple(
        TrueRing(np.array(r["centre_mm"]), r["radius_mm"], int(n), float(r["radius_mm"] - n * pitch))
        for r, n in zip(truth["rings"], numbers, strict=True)
    )
    return TrueDrift(centre, rotation % (360 / count) if count else 0.0, tuple(spokes), rings)
