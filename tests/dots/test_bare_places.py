"""A missing dot is told although a line of its own colour passes, or a like neighbour stands beside its place."""

import cv2
import numpy as np
import pytest

from aligncheck.dots.judge import judge
from aligncheck.dots.measured import Measured, measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

ORDER, RING_MM, PX, HALF_PX, SIZE_MM = 12, 50.0, 6.0, 400, 3.6
WHITE = np.array([0.6, 0.0, 0.0])


def places(radius_mm: float = RING_MM) -> np.ndarray:
    a = 2 * np.pi / ORDER * np.arange(ORDER)
    return radius_mm * np.column_stack([np.sin(a), -np.cos(a)])


def drawn(
    *, moved_mm: float | None = None, neighbour: bool = False, line: bool = False, glossy: bool = False
) -> DotView:
    """White dots of one kind but for the first, and what lies beside its place; glossy ones have two sides."""
    picture = np.zeros((2 * HALF_PX + 1, 2 * HALF_PX + 1, 3), np.float32)

    def dot(xy: np.ndarray) -> None:
        middle = np.rint((xy * PX + HALF_PX) * 16).astype(int)
        cv2.circle(picture, middle.tolist(), round(SIZE_MM / 2 * PX * 16), WHITE.tolist(), -1, cv2.LINE_AA, 4)
        if glossy:
            aside = round(0.5 * SIZE_MM / 2 * PX * 16)
            for side, shade in ((-1, 1.8), (1, 0.55)):
                at, across = (middle + side * aside).tolist(), round(0.46 * SIZE_MM / 2 * PX * 16)
                cv2.circle(picture, at, across, (shade * WHITE).tolist(), -1, cv2.LINE_AA, 4)

    for place in places()[1:]:
        dot(place)
    if moved_mm is not None:
        dot(places()[0] * (1 + moved_mm / RING_MM))
    if neighbour:
        for place in places(RING_MM + SIZE_MM + 0.8):
            dot(place)
    if line:
        cv2.line(picture, (HALF_PX, 0), (HALF_PX, HALF_PX), WHITE.tolist(), round(1.2 * PX), cv2.LINE_AA)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return DotView(picture, picture / 0.01, PX, (HALF_PX, HALF_PX))


def slots(view: DotView, *, bare: bool, neighbour: bool) -> Slots:
    place = np.concatenate([places(), *([places(RING_MM + SIZE_MM + 0.8)] if neighbour else [])])
    rims = seeds(*(PX * place.T + HALF_PX), np.full(len(place), PX * SIZE_MM / 2))
    circles: Measured = measured(view, rims, np.zeros(2))
    filled = np.arange(len(place)) > 0
    return Slots(
        np.arange(len(place)) // ORDER,
        place,
        filled,
        circles,
        np.ones(len(place)),
        ~filled & bare,
        np.zeros(len(place), bool),
    )


@pytest.mark.parametrize(
    ("beside", "bare", "named"),
    [
        ({}, True, 1),
        ({}, False, 1),
        ({"neighbour": True}, True, 1),
        ({"line": True}, True, 1),
        ({"moved_mm": 1.4 * SIZE_MM / 2}, True, 0),
        ({"moved_mm": SIZE_MM}, True, 0),
        ({"moved_mm": SIZE_MM, "glossy": True}, True, 0),
        ({"line": True, "glossy": True}, True, 1),
    ],
    ids=[
        "bare",
        "not seen to be bare by likeness",
        "a neighbour",
        "a line",
        "set off a little",
        "set off far",
        "a glossy one set off far",
        "a line among glossy ones",
    ],
)
def test_a_bare_place_is_a_missing_dot(beside: dict, bare: bool, named: int) -> None:
    view = drawn(**beside)
    kinds = slots(view, bare=bare, neighbour="neighbour" in beside)
    dots = judge(view, kinds, kinds.circles.take(np.zeros(0, np.int64)), ORDER, np.zeros(2), 1.18)
    assert len(dots.missing) == named


def test_a_dot_of_no_kind_beside_its_place_was_set_off() -> None:
    view = drawn(moved_mm=1.75 * SIZE_MM / 2, neighbour=True)
    kinds = slots(view, bare=True, neighbour=True)
    at = np.array([0.0, -RING_MM - 1.75 * SIZE_MM / 2])
    lone = measured(view, seeds(*(PX * at[:, None] + HALF_PX), np.array([PX * SIZE_MM / 2])), np.zeros(2))
    assert not judge(view, kinds, lone, ORDER, np.zeros(2), 1.18).missing
    assert len(judge(view, kinds, lone.take(np.zeros(0, np.int64)), ORDER, np.zeros(2), 1.18).missing) == 1
