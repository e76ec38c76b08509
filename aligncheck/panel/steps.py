"""How clearly colour steps across a line in the small view, so that many sides can be judged at once."""

from dataclasses import dataclass

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


def sample(view: SmallView, points: Floats) -> NDArray[np.float32]:
    """Channels at `points` (..., 2) of the view, by bilinear interpolation: (..., 3)."""
    flat = points.reshape(-1, points.shape[-2], 2) if points.ndim > 2 else points[None]
    p = flat.astype(np.float32)
    values = cv2.remap(view.channels, p[..., 0], p[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(values, np.float32).reshape(*points.shape[:-1], 3)


def soft(difference: NDArray[np.floating], view: SmallView) -> Floats:
    """Differences (..., 3) of channels to -1 .. 1: noise counts little, and a strong edge no more than a clear one."""
    noise = (HALF_AT * view.noise).astype(np.float32)
    return np.asarray(difference / (np.abs(difference) + noise))


def steps_across(view: SmallView, points: Floats, normals: Floats) -> tuple[Floats, Floats]:
    """Soft steps (..., 3) from the -normal to the +normal side at `points` (..., 2): near and far."""
    near = [
        sample(view, points + (slide + NEAR_PX) * normals) - sample(view, points + (slide - NEAR_PX) * normals)
        for slide in SLIDE_PX
    ]
    stacked = soft(np.stack(near), view)
    best = np.argmax((stacked * stacked).sum(-1), axis=0)
    chosen = np.take_along_axis(stacked, best[None, ..., None], axis=0)[0]
    far = soft(sample(view, points + FAR_PX * normals) - sample(view, points - FAR_PX * normals), view)
    return chosen, far


def lasting(near: Floats, far: Floats) -> Floats:
    """Mean steps (..., 3) of a side, shrunk where the colour does not last: a drawn line parts nothing."""
    agreement = (near * far).sum(-1) / np.maximum((near * near).sum(-1), 1e-6)
    return near * np.clip(1.3 * agreement, 0, 1)[..., None]


@dataclass(frozen=True)
class StepSums:
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
