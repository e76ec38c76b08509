"""Rims that close, and rims of which only a part is one."""

import cv2
import numpy as np
import pytest

from aligncheck.dots.closed import open_arcs
from aligncheck.dots.measured import measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

#: What touching dots leave open, and a border, of a turn, are told apart here.
MOST_OPEN = 0.45
ORDER, RING_MM, PX, HALF_PX, SIZE_MM = 12, 50.0, 6.0, 400, 3.0
RED, WINE = np.array([0.3, 0.0, 0.4]), np.array([0.15, 0.0, 0.2])


def places(off_deg: float = 0.0) -> np.ndarray:
    a = np.radians(off_deg + 360 / ORDER * np.arange(ORDER))
    return RING_MM * np.column_stack([np.sin(a), -np.cos(a)])


def view_of(what: str) -> DotView:
    picture = np.random.default_rng(1).normal(0, 0.004, (2 * HALF_PX + 1, 2 * HALF_PX + 1, 3)).astype(np.float32)
    if what in ("border", "dots on a ground"):
        # A painted circle that ends at the middle of the places, or reaches beyond them.
        reach = RING_MM + (0.5 * SIZE_MM if what == "border" else 20.0)
        cv2.circle(picture, (HALF_PX, HALF_PX), round(reach * PX), WINE.tolist(), -1, cv2.LINE_AA)
    touching = float(np.degrees(0.97 * SIZE_MM / RING_MM))
    around = {"border": (), "touching dots": (-touching, 0.0, touching)}.get(what, (0.0,))
    for off in around:
        for place in places(off):
            middle = np.rint((place * PX + HALF_PX) * 16).astype(int)
            cv2.circle(picture, middle.tolist(), round(SIZE_MM / 2 * PX * 16), RED.tolist(), -1, cv2.LINE_AA, 4)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return DotView(picture, picture / 0.004, PX, (HALF_PX, HALF_PX))


@pytest.mark.parametrize(
    ("what", "closed"),
    [("dots", True), ("touching dots", True), ("dots on a ground", True), ("border", False)],
)
def test_a_dot_is_closed_and_a_border_is_not(what: str, closed: bool) -> None:
    view = view_of(what)
    rims = seeds(*(PX * places().T + HALF_PX), np.full(ORDER, PX * SIZE_MM / 2))
    one = np.ones(ORDER)
    slots = Slots(
        np.zeros(ORDER, np.int64), places(), one > 0, measured(view, rims, np.zeros(2)), one, one < 0, one < 0
    )
    assert (open_arcs(view, slots, np.zeros(2))[0] < MOST_OPEN) == closed
