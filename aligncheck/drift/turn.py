"""The common rotation of the spokes and the place that each belongs to."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.places import Ends, mean_gradient
from aligncheck.drift.sources import Number, Place
from aligncheck.geometry.angles import bearing, clockwise, wrap

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Turn:
    """The common rotation in degrees, within 0 .. 360 / N, and the ideal bearing of each spoke."""

    rotation: Number
    ideal_deg: Floats


def bearing_of(place: Place, centre: Place) -> Number:
    """Bearing in degrees of a point from the centre, with its gradient."""
    arm = place.xy_mm - centre.xy_mm
    angle = float(bearing(arm))
    gradient = np.degrees(clockwise(angle) @ (place.gradient - centre.gradient) / np.hypot(*arm))
    return Number(angle, np.asarray(gradient, float))


def common_turn(spokes: tuple[Ends, ...], centre: Place, segments: int, fixed_deg: float | None) -> Turn:
    """The median of the spokes' bearings less their places, or `fixed_deg`.

    The median because one bad spoke must not drag the others; its gradient is that of the middle spoke, or the mean of
    the two middle ones, which alone carry it.
    """
    pitch = 360.0 / segments
    bearings = [bearing_of(s.outer, centre) for s in spokes]
    angles = np.array([b.value for b in bearings])
    if fixed_deg is not None:
        rotation = Number(fixed_deg % pitch, np.zeros_like(bearings[0].gradient))
    else:
        # Folded to one segment, all bearings of an even layout agree: their mean direction says where to unroll them.
        folded = np.angle(np.exp(2j * np.pi * angles / pitch).sum()) * pitch / (2 * np.pi)
        rest = folded + (angles - folded + pitch / 2) % pitch - pitch / 2
        order = np.argsort(rest)
        middle = order[(len(order) - 1) // 2 : len(order) // 2 + 1]
        rotation = Number(float(rest[middle].mean()) % pitch, mean_gradient([bearings[i] for i in middle]))
    places = np.rint((angles - rotation.value) / pitch)
    return Turn(rotation, np.asarray((rotation.value + pitch * places) % 360.0, float))


def direction_of(ends: Ends) -> Number:
    """Direction in degrees of the line from the inner to the outer end, with its gradient."""
    arm = ends.outer.xy_mm - ends.inner.xy_mm
    angle = float(bearing(arm))
    gradient = np.degrees(clockwise(angle) @ (ends.outer.gradient - ends.inner.gradient) / np.hypot(*arm))
    return Number(angle, np.asarray(gradient, float))


def move_of(outer: Place, centre: Place, ideal: Number) -> Number:
    """Shift of the outer end across its ideal spoke that mends it, positive clockwise."""
    arm = outer.xy_mm - centre.xy_mm
    across = clockwise(ideal.value)
    # Turning the ideal turns the direction in which the shift is measured: d(across)/da points inward.
    inward = clockwise(ideal.value + 90.0)
    gradient = across @ (outer.gradient - centre.gradient) + arm @ inward * np.radians(ideal.gradient)
    return Number(-float(arm @ across), -gradient)


def miss_of(inner: Place, centre: Place, direction: Number) -> Number:
    """How far the line passes the centre, positive where it lies clockwise of the centre."""
    arm = inner.xy_mm - centre.xy_mm
    across = clockwise(direction.value)
    inward = clockwise(direction.value + 90.0)
    gradient = across @ (inner.gradient - centre.gradient) + arm @ inward * np.radians(direction.gradient)
    return Number(float(arm @ across), gradient)


def drift_of(direction: Number, ideal: Number) -> Number:
    """Direction less the ideal in -180 .. 180 degrees, positive clockwise."""
    return Number(float(wrap(direction.value - ideal.value)), direction.gradient - ideal.gradient)
