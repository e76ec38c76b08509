"""Where the known marks run: chalk there says nothing about a piece."""

import cv2
import numpy as np

from aligncheck.centrepiece.window import Mask, Window
from aligncheck.marks import Marks

#: Beyond a line's own width: chalk dust and the picture's blur, mm to each side.
FRINGE_MM = 0.45
#: Fractional bits of OpenCV's drawing coordinates.
SHIFT = 4


def line_mask(window: Window, marks: Marks, fringe_mm: float = FRINGE_MM) -> Mask:
    """Pixels on spokes (also between their inner ends and the centre), rings and diagonals, `fringe_mm` wider.

    With a negative fringe only the cores of the lines are left.
    """
    image = np.zeros(window.shape, np.uint8)
    centre = marks.centre.xy_mm
    for spoke in marks.spokes:
        pieces = [(s.inner_mm, s.outer_mm) for s in spoke.strokes] or [(spoke.inner_mm, spoke.outer_mm)]
        for inner, outer in [(centre, spoke.inner_mm), *pieces]:
            _segment(image, window, inner, outer, spoke.width_mm + 2 * fringe_mm)
    for line in marks.diagonals:
        _segment(image, window, line.inner_mm, line.outer_mm, line.width_mm + 2 * fringe_mm)
    for ring in marks.rings:
        c = _fixed(window.to_view(ring.centre_mm))
        radius = round(ring.radius_mm * window.px_per_mm * (1 << SHIFT))
        cv2.circle(image, c, radius, 1, _thickness(window, ring.width_mm + 2 * fringe_mm), cv2.LINE_8, SHIFT)
    return image > 0


def _segment(image: np.ndarray, window: Window, a_mm: np.ndarray, b_mm: np.ndarray, width_mm: float) -> None:
    a, b = _fixed(window.to_view(a_mm)), _fixed(window.to_view(b_mm))
    cv2.line(image, a, b, 1, _thickness(window, width_mm), cv2.LINE_8, SHIFT)


def _fixed(point: np.ndarray) -> tuple[int, int]:
    return round(float(point[0]) * (1 << SHIFT)), round(float(point[1]) * (1 << SHIFT))


def _thickness(window: Window, width_mm: float) -> int:
    return max(1, round(width_mm * window.px_per_mm))
