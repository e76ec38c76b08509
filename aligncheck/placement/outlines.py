"""Laying one outline over another: all turns that come near, each then fitted."""

from dataclasses import dataclass

import cv2
import numpy as np

from aligncheck.geometry.angles import bearing
from aligncheck.placement.turns import Floats, Motion

#: Rays on which outlines are compared all round, and how many of the best turns are fitted.
RAYS, CANDIDATES = 360, 24
#: Scale of the distance field, px per mm, and the margin round the outline, mm.
SCALE, MARGIN_MM = 4.0, 8.0
#: Beyond this distance, mm, a point counts as not belonging (a petal seen from one side only), and rounds of the fit.
SOFT_MM, ROUNDS = 0.4, 12


@dataclass(frozen=True)
class Fit:
    """One outline laid over another: the motion and the median distance that is left, mm."""

    motion: Motion
    rest_mm: float


def fits(earlier: Floats, now: Floats, pivot: Floats, middle: Floats) -> list[Fit]:
    """Every motion that may bring outline `earlier` (n, 2) onto `now` (m, 2), the best first.

    Parameters
    ----------
    pivot, middle : ndarray (2,)
        The middles of both.
    """
    field = DistanceField(now)
    turns = _likely_turns(earlier - pivot, now - middle)
    found = [_fit(earlier, field, Motion(pivot, middle - pivot, turn)) for turn in turns]
    return sorted(found, key=lambda f: f.rest_mm)


def _likely_turns(a: Floats, b: Floats) -> list[float]:
    """Turns at which the outlines' radii agree best, no two of them neighbours."""
    first, second = (np.fft.rfft(_profile(p) - _profile(p).mean()) for p in (a, b))
    agreement = np.fft.irfft(np.conj(first) * second, RAYS)
    peaks = np.flatnonzero((agreement >= np.roll(agreement, 1)) & (agreement >= np.roll(agreement, -1)))
    best = peaks[np.argsort(-agreement[peaks])][:CANDIDATES]
    turns = {float((k * 360.0 / RAYS + 180) % 360 - 180) for k in best} | {0.0}
    return sorted(turns, key=abs)


def _profile(about_middle: Floats) -> Floats:
    """Farthest radius on each ray."""
    ray = np.rint(bearing(about_middle) / 360.0 * RAYS).astype(int) % RAYS
    farthest = np.zeros(RAYS)
    np.maximum.at(farthest, ray, np.hypot(*about_middle.T))
    known = farthest > 0
    at = np.arange(RAYS)
    return np.interp(at, at[known], farthest[known], period=RAYS)


class DistanceField:
    """Signed distance from an outline (positive outside) with its gradient, at any point near it."""

    def __init__(self, outline: Floats):
        low, high = outline.min(0) - MARGIN_MM, outline.max(0) + MARGIN_MM
        width, height = np.ceil((high - low) * SCALE).astype(int)
        inside = np.zeros((height, width), np.uint8)
        cv2.fillPoly(inside, [np.rint((outline - low) * SCALE * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
        outer = cv2.distanceTransform(1 - inside, cv2.DIST_L2, 5)
        inner = cv2.distanceTransform(inside, cv2.DIST_L2, 5)
        # Both start half a pixel beyond the edge.
        signed = np.where(inside > 0, 0.5 - inner, outer - 0.5) / SCALE
        self._signed = np.asarray(cv2.GaussianBlur(signed.astype(np.float32), (0, 0), 0.6), np.float32)
        self._low = low

    def at(self, points: Floats) -> tuple[Floats, Floats]:
        """Distance (n,) in mm and its gradient (n, 2)."""
        steps = np.array([[0, 0], [0.25, 0], [-0.25, 0], [0, 0.25], [0, -0.25]])
        at = ((points[None] + steps[:, None] - self._low) * SCALE).astype(np.float32)
        v = cv2.remap(self._signed, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        d = np.asarray(v, float)
        return d[0], np.stack([d[1] - d[2], d[3] - d[4]], axis=1) / 0.5


def _fit(points: Floats, field: DistanceField, motion: Motion) -> Fit:
    """Gauss-Newton on shift and turn with Cauchy-like weights."""
    distance = np.zeros(len(points))
    soft = 4 * SOFT_MM
    for _ in range(ROUNDS):
        moved = motion(points)
        distance, gradient = field.at(moved)
        lever = moved - motion.pivot_mm - motion.shift_mm
        spin = -gradient[:, 0] * lever[:, 1] + gradient[:, 1] * lever[:, 0]
        design = np.column_stack([gradient, spin])
        weight = 1 / (1 + (distance / soft) ** 2)
        normal = design.T @ (design * weight[:, None]) + 1e-6 * np.eye(3)
        motion = motion.nudged(np.asarray(-np.linalg.solve(normal, design.T @ (weight * distance)), float))
        soft = max(SOFT_MM, soft / 2)
    return Fit(motion, float(np.median(np.abs(distance))))


def fit_near(earlier: Floats, now: Floats, motion: Motion) -> Fit:
    """The fit that starts at `motion`."""
    return _fit(earlier, DistanceField(now), motion)
