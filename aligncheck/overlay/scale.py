"""A true scale: boxes laid on the panel's own lower edge, so that they hold in perspective too."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay.canvas import Canvas
from aligncheck.overlay.colours import BONE, INK
from aligncheck.overlay.plates import Line, Plate
from aligncheck.overlay.view import Box, View

Floats = NDArray[np.float64]

BOXES = 5
#: Steps of the boxes in mm: 10, and more where 50 mm would be too short to see.
BOX_MM = (10.0, 20.0, 50.0, 100.0)
#: In q.
BOX_HIGH, SCALE_IN, SCALE_SHORTEST, BESIDE = 4.0, 7.0, 34.0, 3.0
TEXT = 10.5
#: In q: an arrow nearer than this to the scale's middle needs the room for its own figure.
NEEDED = 60.0


class Scale(NamedTuple):
    """The boxes (px), the plate that says their length, and where it lies."""

    boxes: tuple[Floats, ...]
    plate: Plate
    plate_box: Box

    def draw(self, canvas: Canvas, view: View) -> None:
        """Draw boxes, bone and ink in turn, and plate."""
        for number, box in enumerate(self.boxes):
            canvas.solid(box, INK if number % 2 else BONE, 0.6, INK)
        self.plate.draw(canvas, self.plate_box, view.style)


def lay_scale(view: View, busy_px: Floats) -> Scale:
    """Lay the scale into the lower left corner, or the lower right if the left is needed by `busy_px` (n, 2)."""
    left, right = _at(view, right=False), _at(view, right=True)
    if _clearance(left, busy_px) >= min(NEEDED * view.q, _clearance(right, busy_px)):
        return left
    return right


def _at(view: View, right: bool) -> Scale:
    """The scale in one of the two lower corners, its plate towards the middle."""
    q = view.q
    step = next((s for s in BOX_MM if BOXES * s * view.px_per_mm >= SCALE_SHORTEST * q), BOX_MM[-1])
    plate = Plate("plain", (Line(f"{BOXES * step:.0f} mm", TEXT),))
    corner, low = view.width_mm / 2 - view.mm(SCALE_IN), view.height_mm / 2 - view.mm(SCALE_IN)
    high = low - view.mm(BOX_HIGH)
    start = corner - BOXES * step if right else -corner
    edges = [(start + k * step, start + (k + 1) * step) for k in range(BOXES)]
    boxes = tuple(view.to_px([[a, high], [b, high], [b, low], [a, low]]) for a, b in edges)
    width, height = (v * q for v in plate.size_q())
    inward = view.outward_px([0.0, low], -90.0 if right else 90.0)
    end = start if right else start + BOXES * step
    x, y = view.to_px([end, (high + low) / 2]) + inward * BESIDE * q
    x = x - width if right else x
    return Scale(boxes, plate, (float(x), float(y - height / 2), float(x + width), float(y + height / 2)))


def _clearance(scale: Scale, busy_px: Floats) -> float:
    """Distance in px from the middle of boxes and plate to the nearest busy point."""
    if not len(busy_px):
        return float("inf")
    points = np.vstack([*scale.boxes, np.array(scale.plate_box).reshape(2, 2)])
    middle = (points.min(0) + points.max(0)) / 2
    return float(np.hypot(*(busy_px - middle).T).min())
