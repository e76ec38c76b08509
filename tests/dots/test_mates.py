"""A doubtful kind of dot is believed where its like is believed on the same ring, and nowhere else."""

import numpy as np
import pytest

from aligncheck.dots.choice import choose
from aligncheck.dots.measured import Measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots

ORDER = 12
BLUE, RED = (-0.2, 0.1, 0.0), (0.1, 0.0, 0.3)


def kinds(*told: tuple[float, float, float, tuple[float, float, float], float]) -> Slots:
    """Full kinds of a ring's radius, a bearing, a diameter, a colour and a roughness each."""
    n = len(told) * ORDER
    ring, bearing, diameter, colour, roughness = (
        np.repeat(np.array(v), ORDER, axis=0) for v in zip(*told, strict=True)
    )
    angle = np.radians(bearing + np.tile(np.arange(ORDER) * 360.0 / ORDER, len(told)))
    place = ring[:, None] * np.column_stack([np.sin(angle), -np.cos(angle)])
    rims = seeds(*(6 * place.T + 900), 3 * diameter)
    rims = type(rims)(rims.x, rims.y, rims.r, np.full(n, 0.98), np.full(n, 0.3), np.full(n, 0.1))
    one = np.ones(n)
    circles = Measured(place, diameter / 2, colour, 10 * one, 0.2 * one, roughness, 0.02 * one, rims)
    return Slots(np.repeat(np.arange(len(told)), ORDER), place, one > 0, circles, 0 * one, one < 0, one < 0)


SURE = (60.0, 5.0, 1.4, BLUE, 0.5)


@pytest.mark.parametrize(
    ("doubtful", "believed"),
    [
        ((60.3, -5.0, 1.4, BLUE, 0.9), True),
        ((66.0, -5.0, 1.4, BLUE, 0.9), False),
        ((60.3, -5.0, 2.0, RED, 1.12), False),
        ((60.3, -5.0, 1.4, RED, 0.9), False),
        ((60.3, -5.0, 1.0, BLUE, 0.8), False),
        ((60.3, -5.0, 1.4, BLUE, 1.4), False),
    ],
    ids=["a mate", "another ring", "larger and red", "another colour", "another size", "too rough for any mate"],
)
def test_a_mate_on_the_ring_decides(doubtful: tuple, believed: bool) -> None:
    slots = kinds(SURE, doubtful)
    assert choose(slots, np.zeros(2)).tolist() == [True, believed]


def test_no_doubtful_kind_bears_out_another() -> None:
    rough = (60.0, 5.0, 1.4, BLUE, 0.9), (60.0, -5.0, 1.4, BLUE, 0.9)
    assert not choose(kinds(*rough), np.zeros(2)).any()
