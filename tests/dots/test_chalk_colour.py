"""Chalk has one colour, on whatever it is drawn."""

import cv2
import numpy as np

from aligncheck.dots.chalk import chalk_of
from aligncheck.dots.view import DotView
from tests.dots.painted import CENTRE, PIECE, SIDE_MM, Painting

PX_PER_MM = 3.0
CHALK, GROUND = np.array([60.0, 5.0, -5.0]), np.array([20.0, -30.0, 10.0])


def test_chalk_that_crosses_a_painted_ground_is_known_by_its_own_colour() -> None:
    """Most of each spoke lies on the painted ground, and shows in gaps only."""
    _, marks = Painting(PIECE).draw()
    n = round(SIDE_MM * PX_PER_MM)
    middle = (n - 1) / 2
    origin = (middle, middle)
    y, x = np.mgrid[:n, :n]
    on = np.hypot(x - middle - CENTRE[0] * PX_PER_MM, y - middle - CENTRE[1] * PX_PER_MM) < 85 * PX_PER_MM
    ground = (on[..., None] * GROUND).astype(np.float32)
    chalk = np.zeros((n, n), np.uint8)
    for spoke in marks.spokes:
        ends = [tuple(round(float(v) * PX_PER_MM + middle) for v in end) for end in (spoke.inner_mm, spoke.outer_mm)]
        cv2.line(chalk, *ends, 1, 5)
    chalk[np.hypot(x - middle, y - middle) % 12 < 4] = 0
    seen = np.where(chalk[..., None] > 0, CHALK, ground).astype(np.float32)
    unlike = seen - ground
    view = DotView(unlike, unlike, PX_PER_MM, origin, ground)
    np.testing.assert_allclose(chalk_of(view, marks, CENTRE).colour, CHALK, atol=8)
