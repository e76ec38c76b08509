"""The common rotation of the spokes and the place that each belongs to."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.places import Ends, Placed
from aligncheck.drift.sources import MIDDLE, Number, Place, Sources
from aligncheck.geometry.angles import bearing, clockwise, wrap
from aligncheck.geometry.small import median, medians

Floats = NDArray[np.float64]

#: Draws of the errors that tell which spokes may be the middle ones; shares are then good to two in a hundred.
DRAWS = 512


class Turn(NamedTuple):
    """The common rotation in degrees, within 0 .. 360 / N, and the ideal bearing of each spoke."""

    rotation: Number
    ideal_deg: Floats


def bearing_of(place: Place, centre: Place) -> Number:
    """Bearing in degrees of a point from the centre, with its gradient."""
    arm = place.xy_mm - centre.xy_mm
    angle = float(bearing(arm))
    gradient = np.degrees(clockwise(angle) @ (place.gradient - centre.gradient) / np.hypot(*arm))
    return Number(angle, np.asarray(gradient, float))


def common_turn(placed: Placed, centre: Place, segments: int, fixed_deg: float | None) -> Turn:
    """The median of the spokes' bearings less their places, or `fixed_deg`.

    The median because one bad spoke must not drag the others.
    """
    pitch = 360.0 / segments
    bearings = [bearing_of(s.outer, centre) for s in placed.spokes]
    angles = np.array([b.value for b in bearings])
    gradients = np.array([b.gradient for b in bearings])
    if fixed_deg is not None:
        rotation = Number(fixed_deg % pitch, np.zeros(gradients.shape[1]))
    else:
        # Folded to one segment, all bearings of an even layout agree: their mean direction says where to unroll them.
        folded = np.angle(np.exp(2j * np.pi * angles / pitch).sum()) * pitch / (2 * np.pi)
        rest = folded + (angles - folded + pitch / 2) % pitch - pitch / 2
        rotation = Number(median(rest) % pitch, _median_gradient(rest, gradients, placed.sources))
    places = np.rint((angles - rotation.value) / pitch)
    return Turn(rotation, np.asarray((rotation.value + pitch * places) % 360.0, float))


def _median_gradient(values: Floats, gradients: Floats, sources: Sources) -> Floats:
    """Gradient of the median of `values` (n,), whose own gradients are `gradients` (n, m).

    The middle spokes alone carry the median. Where others lie as near as the errors are large, any of them may be the
    true middle one: each then carries it as often as it is (in draws of the errors), and what that linear picture
    leaves over is a source of its own, the last one.
    """
    covariance = gradients @ sources.covariance @ gradients.T
    draws = np.random.default_rng(0).multivariate_normal(np.zeros(len(values)), covariance, DRAWS, method="eigh")
    order = np.argsort(values + draws, axis=1)
    middle = order[:, (len(values) - 1) // 2 : len(values) // 2 + 1]
    weights = np.bincount(middle.ravel(), minlength=len(values)) / middle.size
    left_over = medians(values + draws, 1) - median(values) - draws @ weights
    gradient = weights @ gradients
    gradient[MIDDLE] = np.sqrt(np.mean(left_over**2))
    return np.asarray(gradient, float)


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
