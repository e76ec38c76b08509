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
    """Full kinds of a ring's radius, a bearing, a diameter and a colour each; what each is by itself is told apart."""
    n = len(told) * ORDER
    ring, bearing, diameter, colour, _ = (np.repeat(np.array(v), ORDER, axis=0) for v in zip(*told, strict=True))
    angle = np.radians(bearing + np.tile(np.arange(ORDER) * 360.0 / ORDER, len(told)))
    place = ring[:, None] * np.column_stack([np.sin(angle), -np.cos(angle)])
    rims = seeds(*(6 * place.T + 900), 3 * diameter)
    rims = type(rims)(rims.x, rims.y, rims.r, np.full(n, 0.98), np.full(n, 0.3), np.full(n, 0.1))
    one = np.ones(n)
    circles = Measured(place, diameter / 2, colour, 10 * one, 0.2 * one, 0.5 * one, 0.02 * one, rims)
    return Slots(np.repeat(np.arange(len(told)), ORDER), place, one > 0, circles, 0 * one, one < 0, one < 0)


def believed_by(*told: tuple[float, float, float, tuple[float, float, float], float]) -> list[bool]:
    return choose(kinds(*told), np.array([odds for *_, odds in told])).tolist()


#: With the odds that each is dots by itself.
SURE = (60.0, 5.0, 1.4, BLUE, 1.0)


@pytest.mark.parametrize(
    ("doubtful", "believed"),
    [
        ((60.3, -5.0, 1.4, BLUE, -1.0), True),
        ((66.0, -5.0, 1.4, BLUE, -1.0), False),
        ((60.3, -5.0, 2.0, RED, -1.0), False),
        ((60.3, -5.0, 1.4, RED, -1.0), False),
        ((60.3, -5.0, 1.0, BLUE, -1.0), False),
        ((60.3, -5.0, 1.4, BLUE, -3.0), False),
    ],
    ids=["a mate", "another ring", "larger and red", "another colour", "another size", "too unlike dots for any mate"],
)
def test_a_mate_on_the_ring_decides(doubtful: tuple, believed: bool) -> None:
    assert believed_by(SURE, doubtful) == [True, believed]


def test_no_doubtful_kind_bears_out_another() -> None:
    assert not any(believed_by((60.0, 5.0, 1.4, BLUE, -1.0), (60.0, -5.0, 1.4, BLUE, -1.0)))
