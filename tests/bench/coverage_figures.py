"""Every figure that a check states with a 95 % interval, beside its truth."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from aligncheck.checking import Check
from aligncheck.drift import Drift
from aligncheck.joint import JointCheck
from aligncheck.panel import Panel
from tests.true_drift import TrueDrift, turned

#: Figure, error, claimed 95 % half-width, in the figure's unit; of a point the distance and the radius.
Pair = tuple[str, float, float]


def pairs(found: Check | JointCheck, truth: dict[str, Any], true: TrueDrift) -> Iterator[Pair]:
    """All figures of one photo, or of several together."""
    for error, u95 in zip(corner_errors(found.panel, truth), found.panel.corner_u95_mm, strict=True):
        yield "corner_mm", float(error), u95
    yield from _of_drift(found.drift, true)


def corner_errors(panel: Panel, truth: dict[str, Any]) -> np.ndarray:
    """How far from where the photo shows its corners (4,) the panel's corners were found, on its face in mm.

    How square it was cut is another matter: that moves what is measured through the corners, not the corners.
    """
    shown = panel.to_panel(np.array(truth["corners_px"]))
    return np.hypot(*(shown - panel.corners_mm).T)


def _of_drift(drift: Drift, true: TrueDrift) -> Iterator[Pair]:
    yield "centre_mm", float(np.hypot(*(np.array(drift.centre_mm) - true.centre_mm))), drift.centre_u95_mm
    if drift.rotation_deg is not None and drift.rotation_u95_deg is not None:
        segment = 360 / len(true.spokes)
        off = (drift.rotation_deg - true.rotation_deg + segment / 2) % segment - segment / 2
        yield "rotation_deg", off, drift.rotation_u95_deg
    for s in drift.spokes:
        t = true.nearest_spoke(s.angle_deg)
        if abs(turned(s.angle_deg - t.angle_deg)) > 3:
            continue
        yield "direction_deg", turned(s.angle_deg - t.angle_deg), s.angle_u95_deg
        yield "drift_deg", s.drift_deg - turned(t.angle_deg - t.ideal_deg), s.drift_u95_deg
        yield "move_mm", s.move_mm - t.move_mm, s.move_u95_mm
        yield "miss_mm", s.miss_mm - t.miss_mm, s.miss_u95_mm
    for r in drift.rings:
        ring = true.nearest_ring(r.radius_mm)
        if abs(r.radius_mm - ring.radius_mm) > 2:
            continue
        yield "radius_mm", r.radius_mm - ring.radius_mm, r.radius_u95_mm
        if r.number == ring.number:
            yield "ring_drift_mm", r.drift_mm - ring.drift_mm, r.drift_u95_mm
