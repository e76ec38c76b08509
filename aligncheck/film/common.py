"""Marks that two stages both show, as offsets from the one to the other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import bearing, outward, wrap

Floats = NDArray[np.float64]

#: Two spokes are one if they bear alike within this share of a segment, two rings if their radii agree within this
#: share of the gap to the next: maps are wrong by far less, neighbours lie further off.
SAME = 0.35
SAME_AT_MOST_DEG, SAME_AT_MOST_MM = 5.0, 2.5
#: A ring is compared in so many directions, which together count as three measured numbers.
RING_POINTS = 12


@dataclass(frozen=True)
class Common:
    """Offsets (n,) in mm along `normal` (n, 2) from points `at` (n, 2) of the stage, already turned, to the other's
    mark; each counts by `weight` (n,). `marks` is how many marks they belong to.
    """

    at: Floats
    normal: Floats
    offset: Floats
    weight: Floats
    marks: int


def common_marks(stage: Mapping[str, Any], onto: Mapping[str, Any], turn: Floats) -> Common:
    """Pair the marks of `stage`, turned by the matrix `turn` (2, 2), with those of `onto`."""
    parts = [*_spokes(stage, onto, turn), *_rings(stage, onto, turn), *_centre(stage, onto, turn)]
    if not parts:
        return Common(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros(0), 0)
    at, normal, offset, weight = (np.concatenate([part[k] for part in parts]) for k in range(4))
    return Common(at, normal, offset, weight, len(parts))


Part = tuple[Floats, Floats, Floats, Floats]


def _spokes(stage: Mapping[str, Any], onto: Mapping[str, Any], turn: Floats) -> list[Part]:
    """Both ends of each common spoke, across it: where a stroke ends along itself depends on the light."""
    there = [(np.array(s["inner_mm"]), np.array(s["outer_mm"])) for s in onto["spokes"]]
    limit = min(SAME * 360.0 / max(onto.get("segments") or 0, len(there), 1), SAME_AT_MOST_DEG)
    found = []
    for spoke in stage["spokes"]:
        inner, outer = np.array(spoke["inner_mm"]) @ turn.T, np.array(spoke["outer_mm"]) @ turn.T
        way = float(bearing(outer - inner))
        near = min(there, key=lambda s: abs(float(wrap(bearing(s[1] - s[0]) - way))), default=None)
        if near is None or abs(float(wrap(bearing(near[1] - near[0]) - way))) > limit:
            continue
        along = (near[1] - near[0]) / np.linalg.norm(near[1] - near[0])
        normal = np.array([-along[1], along[0]])
        at = np.array([inner, outer])
        found.append((at, np.tile(normal, (2, 1)), (near[0] - at) @ normal, np.ones(2)))
    return found


def _rings(stage: Mapping[str, Any], onto: Mapping[str, Any], turn: Floats) -> list[Part]:
    """Each common ring in all directions, along its radius."""
    there = [(np.array(r["centre_mm"]), float(r["radius_mm"])) for r in onto["rings"]]
    limit = _ring_limit([radius for _, radius in there])
    directions = np.array([outward(a) for a in 360.0 * np.arange(RING_POINTS) / RING_POINTS])
    found = []
    for ring in stage["rings"]:
        centre, radius = np.array(ring["centre_mm"]) @ turn.T, float(ring["radius_mm"])
        near = min(there, key=lambda r: abs(r[1] - radius), default=None)
        if near is None or abs(near[1] - radius) > limit:
            continue
        at = centre + radius * directions
        offset = near[1] - np.linalg.norm(at - near[0], axis=1)
        found.append((at, directions, offset, np.full(RING_POINTS, 3.0 / RING_POINTS)))
    return found


def _centre(stage: Mapping[str, Any], onto: Mapping[str, Any], turn: Floats) -> list[Part]:
    """The centre mark, where both show it."""
    points = [s["centre"] for s in (stage, onto)]
    if any(p.get("source") != "mark" or p["x_mm"] is None for p in points):
        return []
    own, other = (np.array([p["x_mm"], p["y_mm"]]) for p in points)
    own = own @ turn.T
    return [(np.tile(own, (2, 1)), np.eye(2), other - own, np.ones(2))]


def _ring_limit(radii: Sequence[float]) -> float:
    gaps = np.diff(np.sort(radii))
    return min(SAME * float(gaps.min()) if len(gaps) else SAME_AT_MOST_MM, SAME_AT_MOST_MM)
