"""How clearly colour steps across a line in the small view, so that many sides can be judged at once."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.panel.segments import Lines
from aligncheck.panel.small import SmallView

Floats = NDArray[np.float64]

#: A step is the difference across this many pixels of the view, each end a mean of 3 x 3.
NEAR_PX = 2.5
#: The same further out: it is there for an edge between two surfaces, but not for a thin drawn line.
FAR_PX = 7.0
#: Starts are lines from reduced pictures, so each place looks a little to both sides.
SLIDE_PX = (-2.0, 0.0, 2.0)
#: A step of four times the noise counts half.
HALF_AT = 4.0

#: Distance between places along a pool line.
STRIDE_PX = 2.5
#: Scattered places are read in rows of so many.
ROW = 256


def sample(picture: NDArray[np.float32], points: Floats) -> NDArray[np.float32]:
    """The picture (h, w, 3) at `points` (..., 2), by bilinear interpolation: (..., 3)."""
    return _read(picture, _rows(points)).reshape(*points.shape[:-1], 3)


def steps_across(view: SmallView, points: Floats, normals: Floats) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Soft steps (..., 3) from the -normal to the +normal side at `points` (..., 2): near and far.

    Soft: -1 to 1, so that noise counts little, and a strong edge no more than a clear one.
    """
    at, across = _rows(points), _rows(np.broadcast_to(normals, points.shape))
    best = _soft_step(view, at, across, SLIDE_PX[0], NEAR_PX)
    largest = _squared(best)
    for slide in SLIDE_PX[1:]:
        step = _soft_step(view, at, across, slide, NEAR_PX)
        size = _squared(step)
        cv2.copyTo(step, np.asarray(size > largest, np.uint8), best)
        largest = np.maximum(largest, size)
    far = _soft_step(view, at, across, 0.0, FAR_PX)
    shape = (*points.shape[:-1], 3)
    return best.reshape(shape), far.reshape(shape)


def _rows(points: Floats) -> NDArray[np.float32]:
    """Points (..., n, 2) as rows (k, n, 2), as OpenCV reads them."""
    return np.ascontiguousarray(points, np.float32).reshape(-1, points.shape[-2], 2)


def _read(picture: NDArray[np.float32], rows: NDArray[np.float32]) -> NDArray[np.float32]:
    values = cv2.remap(picture, rows, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    return np.asarray(values, np.float32)


def _soft_step(
    view: SmallView, at: NDArray[np.float32], across: NDArray[np.float32], slide: float, apart: float
) -> NDArray[np.float32]:
    """Soft steps (k, n, 3) over `apart` pixels to both sides of places that lie `slide` across."""
    difference = _read(view.by_noise, at + np.float32(slide + apart) * across)
    difference -= _read(view.by_noise, at + np.float32(slide - apart) * across)
    limit = np.abs(difference)
    limit += HALF_AT
    return np.divide(difference, limit, out=difference)


def _squared(steps: NDArray[np.float32]) -> NDArray[np.float32]:
    """Squared lengths (k, n) of steps (k, n, 3)."""
    return np.asarray(cv2.transform(steps * steps, np.ones((1, 3), np.float32)), np.float32)


def lasting(near: NDArray[np.floating], far: NDArray[np.floating]) -> Floats:
    """Mean steps (..., 3) of a side, shrunk where the colour does not last: a drawn line parts nothing."""
    agreement = (near * far).sum(-1) / np.maximum((near * near).sum(-1), 1e-6)
    return np.asarray(near * np.clip(1.3 * agreement, 0, 1)[..., None])


class StepSums(NamedTuple):
    """Cumulated steps along each line of a pool, for mean steps between any two places by two look-ups."""

    sums: NDArray[np.float32]  # (lines, places + 1, 7): near and far steps of three channels, and whether seen
    reach_px: float

    @classmethod
    def along(cls, lines: Lines, view: SmallView) -> "StepSums":
        """Sample all `lines` across the whole view."""
        reach = float(np.hypot(view.width, view.height)) * 0.62
        t = np.arange(-reach, reach, STRIDE_PX)
        tangent = np.stack([-lines.normal[:, 1], lines.normal[:, 0]], -1)
        foot = lines.normal * lines.rho[:, None] + view.centre_px
        points = foot[:, None] + t[None, :, None] * tangent[:, None]
        x, y = points[..., 0], points[..., 1]
        inside = (x > 3) & (y > 3) & (x < view.width - 4) & (y < view.height - 4)
        steps = np.zeros((*inside.shape, 7), np.float32)
        # Half of all places lie outside the view. One row of the others would be too long for OpenCV.
        line, place = np.nonzero(inside)
        rows = np.resize(np.arange(len(line)), (-(-len(line) // ROW), ROW))
        if len(line):
            near, far = steps_across(view, points[line[rows], place[rows]], lines.normal[line[rows]])
            found = np.concatenate([near, far, np.ones_like(near[..., :1])], -1)
            steps[line, place] = found.reshape(-1, 7)[: len(line)]
        sums = np.zeros((len(lines), len(t) + 1, 7), np.float32)
        np.cumsum(steps, axis=1, out=sums[:, 1:])
        return cls(sums, reach)

    def mean(self, line: NDArray[np.intp], start: Floats, end: Floats) -> Floats:
        """Mean near and far steps (..., 6) of `line` between the places `start` and `end` along its tangent.

        Only what lies inside the photo counts; where that is less than a fifth, the mean is 0.
        """
        count = self.sums.shape[1] - 1
        a = np.clip(np.rint((np.minimum(start, end) + self.reach_px) / STRIDE_PX), 0, count).astype(np.intp)
        b = np.clip(np.rint((np.maximum(start, end) + self.reach_px) / STRIDE_PX), 0, count).astype(np.intp)
        total = self.sums[line, b] - self.sums[line, a]
        seen = total[..., 6]
        return np.asarray(total[..., :6] / np.where(seen > 0.2 * (b - a), np.maximum(seen, 1), np.inf)[..., None])
