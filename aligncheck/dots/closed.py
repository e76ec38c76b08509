"""Whether the rims of a kind close: a dot differs from what lies around it nearly all around.

The border between two paints, a corner, a part of a letter do so on one side only, and yet a small circle finds steps
enough on its rays. Where dots touch their rims are open too, but to several sides.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.slots import Slots
from aligncheck.dots.view import HALF_AT, DotView
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.small import medians

Floats = NDArray[np.float64]

#: Ways from the middle, turned with the segment; places just inside and outside the rim, shares of the radius and
#: pixels, a pixel being what blur takes.
WAYS, INSIDE, OUTSIDE, BLUR_PX = 24, 0.8, 1.15, 1.0
#: A rim is open where it steps by less than this share of its clearest quarter.
OPEN = 0.35


def open_arcs(view: DotView, slots: Slots, centre_mm: Floats) -> Floats:
    """The longest open part of the rims of each orbit, as a share of a turn (orbits,): the median of its dots tells."""
    orbits = int(slots.orbit.max(initial=-1)) + 1
    found = np.ones(orbits)
    for k in range(orbits):
        mine = np.flatnonzero((slots.orbit == k) & slots.filled)
        if not len(mine):
            continue
        xy, radius = slots.circles.xy_mm[mine], slots.circles.radius_mm[mine]
        angle = np.arctan2(xy[:, 1], xy[:, 0])[:, None] + np.arange(WAYS) * (2 * np.pi / WAYS)
        way = np.stack([np.cos(angle), np.sin(angle)], -1)
        blur = BLUR_PX / view.px_per_mm
        inner, outer = (
            _seen(view, xy[:, None] + centre_mm + reach[:, None, None] * way)
            for reach in (np.maximum(INSIDE * radius - blur / 3, 0), OUTSIDE * radius + blur)
        )
        step = medians(lengths(inner - outer), axis=0)
        found[k] = _longest(step < OPEN * np.quantile(step, 0.75)) / WAYS
    return found


def _seen(view: DotView, places_mm: Floats) -> NDArray[np.float32]:
    """Difference from the panel (..., 3), its length brought from 0 .. infinity to 0 .. 1."""
    px = view.to_view(places_mm).astype(np.float32)
    seen = np.asarray(cv2.remap(view.unlike, px[..., 0], px[..., 1], cv2.INTER_LINEAR), np.float32)
    return seen / (lengths(seen) + np.float32(HALF_AT))[..., None]


def _longest(on: NDArray[np.bool_]) -> int:
    """The longest run in a closed row (n,)."""
    off = np.flatnonzero(~on)
    return len(on) if not len(off) else int(np.diff(np.append(off, off[0] + len(on))).max()) - 1
