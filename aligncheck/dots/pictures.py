"""The middle picture of each kind of dots in brightness, with what lies about them: all kinds at once.

Each picture has as many points, whatever the dots' size, so that all are worked on as one array.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.small import median, medians
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Mask = NDArray[np.bool_]

#: Fewer dots than this make no middle picture; only those of the kind's size (natural log) sit for it.
LEAST_SITTERS, SITS = 3, 0.1
#: The picture reaches this far from the middle, radii and mm: a highlight is a third of its dome and less, but of large
#: domes at least the lit half is seen. So many points to each side.
REACH, REACH_MM, POINTS = 2.6, 1.2, 14
#: The least noise of a picture (gamma-coded values, 0 to 1), and so many times of the usual make a place that differs
#: from dot to dot: a neighbour, or a highlight that moves.
LEAST_NOISE, ODD = 0.005, 2.0


@dataclass(frozen=True)
class Pictures:
    """Brightness about the dots of k kinds, at n points each within a circle about their middle.

    Attributes
    ----------
    light : ndarray (k, n)
        Less the bare panel's.
    weight : ndarray (k, n)
        1 where all dots of the kind agree, towards 0 where they do not: there neighbours lie.
    x, y : ndarray (k, n)
        Places in the picture's points.
    step_mm, radius_mm : ndarray (k,)
        Of a point, and of the dots as they were seen.
    """

    light: Singles
    weight: Singles
    x: Singles
    y: Singles
    step_mm: Floats
    radius_mm: Floats

    def __len__(self) -> int:
        return len(self.light)

    @property
    def radius(self) -> Floats:
        """The dots' radii (k,) in points."""
        return np.asarray(self.radius_mm / self.step_mm, float)

    @property
    def strength(self) -> Floats:
        """All there is (k,) to be explained."""
        return np.asarray(np.einsum("kn,kn,kn->k", self.weight, self.light, self.light), float)

    def take(self, which: NDArray[np.generic]) -> "Pictures":
        """Those at `which` (indices or mask)."""
        names = ("light", "weight", "x", "y", "step_mm", "radius_mm")
        return Pictures(*(getattr(self, name)[which] for name in names))

    def far_from(self, middle: Floats) -> Singles:
        """Distance (k, n) of the points from a place (k, 2) in each picture."""
        at = middle.astype(np.float32)[:, :, None]
        return np.asarray(np.hypot(self.x - at[:, 0], self.y - at[:, 1]), np.float32)

    def about(self, middle: Floats, reach: Floats) -> "Pictures":
        """Of each only the points nearer than `reach` (k,) to a place (k, 2); what fills up a row weighs nothing."""
        inside = self.far_from(middle) < reach[:, None]
        first = np.argsort(~inside, axis=1, kind="stable")[:, : int(inside.sum(1).max(initial=0))]
        light, weight, x, y = (
            np.take_along_axis(of, first, 1) for of in (self.light, self.weight * inside, self.x, self.y)
        )
        return replace(self, light=light, weight=weight, x=x, y=y)


def pictures_of(view: DotView, slots: Slots, centre_mm: Floats) -> tuple[Pictures, Integers]:
    """The pictures of all kinds of which enough dots were seen, and which kinds (k,) these are."""
    here = slots.filled
    count = np.bincount(slots.orbit[here], minlength=int(slots.orbit.max(initial=-1)) + 1)
    kinds = np.flatnonzero(count >= LEAST_SITTERS)
    luma = cv2.extractChannel(view.away, 0)
    sitters = [np.flatnonzero(here & (slots.orbit == kind)) for kind in kinds]
    # What is usual is told by the corners of the square, too.
    x, y, inside = _square(POINTS)

    def one(mine: Integers) -> tuple[Singles, Singles, float, float]:
        size = slots.circles.radius_mm[mine]
        radius = median(size)
        alike = np.abs(np.log(size / radius)) < SITS
        mine = mine[alike] if alike.sum() >= LEAST_SITTERS else mine
        step = (REACH * radius + REACH_MM) / POINTS
        middle = view.to_view(slots.circles.xy_mm[mine] + centre_mm).astype(np.float32)
        # A row a point: the middle one of all dots is told along rows.
        column, row = (
            np.float32(step * view.px_per_mm) * at[:, None] + m for at, m in zip((x, y), middle.T, strict=True)
        )
        seen = cv2.remap(luma, column, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        light = medians(seen)
        spread = 1.48 * medians(np.abs(seen - light[:, None]))
        odd = spread / (ODD * max(median(spread), LEAST_NOISE))
        weight = 1 / (1 + odd * odd) ** 2
        return np.asarray(light[inside], np.float32), np.asarray(weight[inside], np.float32), step, radius

    made = all_at_once(one, sitters)
    x, y = (np.tile(at[inside], (len(made), 1)) for at in (x, y))
    light, weight = (np.array([each[k] for each in made], np.float32).reshape(x.shape) for k in (0, 1))
    step, radius = (np.array([each[k] for each in made], float) for k in (2, 3))
    return Pictures(light, weight, x, y, step, radius), kinds


def _square(reach: int) -> tuple[Singles, Singles, Mask]:
    """Points of a square (n,) that reaches so many to each side, x and y, and which lie in the circle within."""
    along = np.arange(-reach, reach + 1, dtype=np.float32)
    x, y = (at.ravel() for at in np.meshgrid(along, along))
    return x, y, np.asarray(x * x + y * y <= reach**2, bool)


def points(reach: int) -> tuple[Singles, Singles]:
    """Points (n,) of a picture that reaches so many to each side, x and y from its middle."""
    x, y, inside = _square(reach)
    return x[inside], y[inside]
