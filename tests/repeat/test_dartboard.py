"""The regulation dartboard: twenty beds drawn, ten pairs painted."""

import cv2
import numpy as np

from aligncheck.repeat import find_repeat
from tests.marks.drawn import photograph
from tests.outside.data import published

SIZE_MM, PX_PER_MM = 381.0, 3.0


def test_twenty_by_drawing_ten_by_colour() -> None:
    """Light and dark beds alternate, and so do the colours of double and treble."""
    data = published("dartboard")
    sectors, first = data["sectors"], data["first_boundary_deg"]
    n = round(SIZE_MM * PX_PER_MM)
    at = (np.arange(n) + 0.5) / PX_PER_MM - SIZE_MM / 2
    x, y = np.meshgrid(at, at)
    radius, angle = np.hypot(x, y), np.degrees(np.arctan2(x, -y)) % 360
    odd = ((angle - first) // (360 / sectors)).astype(int) % 2
    doubles, trebles = data["double_outer_radius_mm"][0], data["treble_outer_radius_mm"][0]
    width = data["ring_width_mm"][0]
    image = np.full((n, n, 3), (25, 25, 25), np.uint8)
    beds = (radius < doubles) & (radius > 16)
    image[beds] = np.where(odd[beds, None] == 1, (230, 215, 180), (25, 25, 25))
    for outer in (doubles, trebles):
        ring = (radius < outer) & (radius > outer - width)
        image[ring] = np.where(odd[ring, None] == 1, (30, 120, 60), (190, 40, 40))
    # The wires between the beds are what is drawn.
    wires = (np.abs((angle - first + 9) % 18 - 9) * np.pi / 180 * radius < 0.8) & beds
    image[wires] = (150, 150, 150)
    rng = np.random.default_rng(2)
    photo, panel = photograph(np.zeros((n, n), np.float32), SIZE_MM, PX_PER_MM, rng)
    photo = type(photo)(cv2.GaussianBlur(image, (0, 0), 0.7))
    repeat = find_repeat(photo, panel, np.zeros(2))
    assert repeat.order == sectors
    assert repeat.colour_order == sectors // 2
