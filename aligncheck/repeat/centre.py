"""The point that a pattern turns about, where no mark says it: the picture is turned and laid on itself."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.uncertainty import u95_point
from aligncheck.repeat.turning import banded
from aligncheck.rows.view import ColourView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Orders that are tried at first.
ORDERS = range(2, 49)
#: Pixels per mm for that, at most; then more finely.
COARSE_PX_PER_MM = 1.2
#: The centre lies this near the panel's middle, as a share of its shorter side.
FARTHEST = 0.2
#: A centre is not known better than this, mm: the panel's map and the hand.
LEAST_SD_MM = 0.1


@dataclass(frozen=True)
class TurningCentre:
    """The point (2,), its covariance (2, 2) in mm^2, and the order that showed it best."""

    xy_mm: Floats
    covariance: Floats
    order: int

    @property
    def u95_mm(self) -> float:
        """Radius of the disc that holds it with 95 % probability."""
        return u95_point(self.covariance)


def find_turning_centre(view: ColourView) -> TurningCentre | None:
    """Find the centre of a pattern that repeats; None where none does."""
    picture, scale, origin = _reduced(banded(view), view, COARSE_PX_PER_MM)
    best = max(((*_match(picture, 360.0 / n), n) for n in ORDERS), key=lambda one: one[0])
    order = best[2]
    height, width = picture.shape[:2]
    middle = np.array([(width - 1) / 2, (height - 1) / 2])
    turns = [360.0 * k / order for k in range(1, order)]
    found = [_match(picture, turn) for turn in turns]
    # A turn by a about the middle m carries the centre c to R (c - m) + m; laid on itself it lies at c again, so the
    # shift seen is d = (R - I) (c - m).
    matrices = np.concatenate([_rotation(turn) - np.eye(2) for turn in turns])
    shifts = np.concatenate([shift for _, shift in found])
    weights = np.repeat([max(score, 0.0) for score, _ in found], 2)
    if weights.max(initial=0) <= 0:
        return None
    normal = matrices.T @ (weights[:, None] * matrices)
    offset = np.linalg.solve(normal, matrices.T @ (weights * shifts))
    left = shifts - matrices @ offset
    spread = float((weights * left**2).sum() / weights.sum()) / scale**2
    covariance = spread * np.linalg.inv(matrices.T @ matrices) + LEAST_SD_MM**2 * np.eye(2)
    xy = (middle + offset - origin) / scale
    return TurningCentre(xy, covariance, order)


def _rotation(angle_deg: float) -> Floats:
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def _reduced(picture: Singles, view: ColourView, px_per_mm: float) -> tuple[Singles, float, Floats]:
    """The picture at a lower scale, faded out towards its rim, its scale and where the panel's origin lies."""
    factor = min(1.0, px_per_mm / view.px_per_mm)
    small = cv2.resize(picture, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    height, width = small.shape[:2]
    scale = np.array([width / picture.shape[1], height / picture.shape[0]])
    origin = (np.array(view.origin_px) + 0.5) * scale - 0.5
    y, x = np.mgrid[0:height, 0:width]
    radius = np.hypot(x - (width - 1) / 2, y - (height - 1) / 2)
    fade = np.clip((0.48 * min(height, width) - radius) / 4, 0, 1).astype(np.float32)
    return small * fade[..., None], float(view.px_per_mm * scale.mean()), origin


def _match(picture: Singles, turn_deg: float) -> tuple[float, Floats]:
    """Turn the picture clockwise about its middle and lay it on itself: likeness and shift (2,) x, y in pixels."""
    height, width = picture.shape[:2]
    middle = ((width - 1) / 2, (height - 1) / 2)
    turned = cv2.warpAffine(picture, cv2.getRotationMatrix2D(middle, -turn_deg, 1), (width, height))
    size = [cv2.getOptimalDFTSize(int(1.2 * n)) for n in (height, width)]
    axes = (0, 1)
    product = np.fft.rfft2(turned, size, axes) * np.conj(np.fft.rfft2(picture, size, axes))
    likeness = np.fft.irfft2(product.sum(2), size) / float((picture**2).sum())
    # A centre off the middle by e is carried 2 e sin(turn / 2) away.
    reach = int(2 * FARTHEST * min(height, width) * abs(np.sin(np.radians(turn_deg) / 2))) + 2
    near = np.roll(likeness, (reach, reach), (0, 1))[: 2 * reach + 1, : 2 * reach + 1]
    row, column = divmod(int(near.argmax()), near.shape[1])
    return float(near[row, column]), np.array([_peak(near[row], column), _peak(near[:, column], row)]) - reach


def _peak(values: Floats, at: int) -> float:
    """Place of the maximum near index `at`, by a parabola through three values."""
    if not 0 < at < len(values) - 1:
        return float(at)
    before, here, after = values[at - 1 : at + 2]
    bend = before - 2 * here + after
    return at + (0.5 * (before - after) / bend if bend < 0 else 0.0)
