"""Bits of chalk lines between dots: round enough for a dot, but lines all the same.

A line that dots are set on shows in the gaps between them. What is left of it there is bounded by the dots' own round
sides, is as large in every gap, and repeats as the dots do. But it is no wider than the lines, and on the way along its
line it is not widest in its middle, as a dot is: there the line goes on, or the next dot begins.

Where the line lies need not be known, for paint hides most of it; how wide lines are is.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.channels import lengths

Floats = NDArray[np.float64]

#: What is larger than this many times the lines and so much more, mm, is rather no bit of them: a line's own width
#: differs by a third along it, and a circle about a bit ends where dots begin. Beyond this many times that it is none.
TIMES_THE_LINE, MORE_MM, MOST = 1.4, 0.5, 1.4
#: How sharply that is so: the widths of lines drawn by hand differ by a tenth or two.
SHARPLY = 8
#: On one side at least a line stays as wide all the way to this many diameters. Dots on a line fall to half, dots that
#: touch to less.
TO_BOTH_SIDES = 0.7
#: Paint is what is this share as far from the panel as the chalk: paints are darker than chalk.
PAINT = 0.3
#: Ways that its line may go, from outward on; steps along and across, mm.
WAYS, STEP_MM = 8, 0.1


def line_bits(view: DotView, slots: Slots, line_mm: float, centre_mm: Floats) -> Floats:
    """How much (orbits,) each looks like bits of lines, 0 to 1: does it stay as wide on its way on, and is it slender?

    Parameters
    ----------
    line_mm : float
        How wide lines are.
    centre_mm : ndarray (2,)
        What the design turns about.
    """
    found = np.zeros(int(slots.orbit.max(initial=-1)) + 1)
    widest = TIMES_THE_LINE * line_mm
    for k in range(len(found)):
        mine = np.flatnonzero((slots.orbit == k) & slots.filled)
        spots, diameter = slots.circles.xy_mm[mine], 2 * float(np.median(slots.circles.radius_mm[mine]))
        size = diameter / (widest + MORE_MM)
        if line_mm > 0 and size < MOST:
            stays = max(_stays(_widths(view, spots + centre_mm, way, diameter, widest)) for way in _ways(spots))
            found[k] = stays / (1 + size**SHARPLY)
    return found


def _ways(spots: Floats) -> Floats:
    """Unit vectors (ways, n, 2) at spots (n, 2) from the centre, turned from outward on: the same in every segment."""
    out = spots / np.maximum(np.hypot(*spots.T), 1e-9)[:, None]
    across = out[:, ::-1] * (-1, 1)
    angle = (np.arange(WAYS) * (np.pi / WAYS))[:, None, None]
    return np.asarray(np.cos(angle) * out + np.sin(angle) * across, float)


def _stays(wide: Floats) -> float:
    """How wide it stays on one side, as a share of its middle, 0 to 1; `wide` (m,): widths along a way."""
    half = len(wide) // 2
    beside = max(float(side.min()) for side in (wide[:half], wide[half + 1 :]))
    return float(np.clip(beside / max(wide[half], STEP_MM), 0, 1))


def _widths(view: DotView, spots_mm: Floats, along: Floats, diameter_mm: float, widest_mm: float) -> Floats:
    """How wide (m,) paint or chalk is on the way along unit vectors (n, 2) from spots (n, 2), mm: their median.

    Twice the nearer side counts: on the other one a dot may lie beside the line.
    """
    ahead = max(1, round(TO_BOTH_SIDES * diameter_mm / STEP_MM))
    aside = round(widest_mm / STEP_MM)
    forth, sides = (np.arange(-n, n + 1) * STEP_MM for n in (ahead, aside))
    across = along[:, ::-1] * (-1, 1)
    rows = spots_mm[:, None] + forth[:, None] * along[:, None]
    place = rows[:, :, None] + sides[:, None] * across[:, None, None]
    px = view.to_view(place).astype(np.float32).reshape(len(spots_mm), -1, 2)
    seen = lengths(cv2.remap(view.away, px[..., 0], px[..., 1], cv2.INTER_LINEAR)).reshape(place.shape[:-1])
    own = np.median(seen[:, ahead - 1 : ahead + 2, aside - 1 : aside + 2], axis=(1, 2))
    on = seen > PAINT * own[:, None, None]
    each = [np.minimum.accumulate(part, axis=2).sum(2) for part in (on[..., aside:], on[..., aside::-1])]
    return np.asarray(np.median(2 * np.minimum(*each) - 1, axis=0) * STEP_MM, float)
