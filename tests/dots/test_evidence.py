"""What is seen of a kind of circle adds up, and moves smoothly with the map: no single look decides."""

import cv2
import numpy as np
import pytest

from aligncheck.dots import evidence as module
from aligncheck.dots.candidates import refined
from aligncheck.dots.chalk import Chalk
from aligncheck.dots.evidence import evidence
from aligncheck.dots.measured import measured
from aligncheck.dots.rims import seeds
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView

ORDER, RING_MM, PX, HALF_PX, NOISE = 12, 50.0, 6.0, 400, 0.01
CHALK, BLUE = np.array([0.6, 0.0, 0.0]), np.array([0.1, -0.1, 0.3])
NONE = np.zeros((0, 2))
#: Dots as far apart as leaves a millimetre and a half between them: degrees.
STEP_DEG = float(np.degrees(2.0 / RING_MM))


def places(off_deg: float, out_mm: float = 0.0) -> np.ndarray:
    a = np.radians(off_deg + 360 / ORDER * np.arange(ORDER))
    return (RING_MM + out_mm) * np.column_stack([np.sin(a), -np.cos(a)])


def seen(*dots: tuple[float, float, float, np.ndarray]) -> DotView:
    """A chalk ring 1 mm wide, and dots: degrees from each spoke, mm outward of the ring, diameter, colour."""
    picture = np.random.default_rng(1).normal(0, NOISE, (2 * HALF_PX + 1, 2 * HALF_PX + 1, 3)).astype(np.float32)
    cv2.circle(picture, (HALF_PX, HALF_PX), round(RING_MM * PX), CHALK.tolist(), round(PX), cv2.LINE_AA)
    for off_deg, out, diameter, colour in dots:
        for place in places(off_deg, out):
            middle = np.rint((place * PX + HALF_PX) * 16).astype(int).tolist()
            cv2.circle(picture, middle, round(diameter / 2 * PX * 16), colour.tolist(), -1, cv2.LINE_AA, 4)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    return DotView(picture, picture / NOISE, PX, (HALF_PX, HALF_PX))


def odds(view: DotView, diameter_mm: float, out_mm: float = 0.0, line_mm: float = RING_MM) -> float:
    """Of circles where the first dots are, with the ring thought to lie `line_mm` from the centre."""
    place, one = places(0.0, out_mm), np.ones(ORDER)
    rims = refined(view, seeds(*(PX * place.T + HALF_PX), PX * diameter_mm / 2 * one))
    slots = Slots(np.zeros(ORDER, np.int64), place, one > 0, measured(view, rims, np.zeros(2)), one, one < 0, one < 0)
    chalk = Chalk(CHALK / NOISE, NONE, NONE, np.array([[0.0, 0.0, line_mm]]), 1.0)
    return float(evidence(view, slots, chalk, np.zeros(2))[0])


@pytest.mark.parametrize(
    ("out_mm", "diameter_mm", "colour"),
    [(0.0, 2.4, CHALK), (0.25, 1.8, CHALK), (6.0, 1.3, CHALK), (0.0, 1.3, BLUE), (6.0, 1.3, BLUE)],
    ids=["white on its line", "small white ones on a line", "white beside it", "blue on a line", "blue beside it"],
)
def test_dots_are_believed(out_mm: float, diameter_mm: float, colour: np.ndarray) -> None:
    assert odds(seen((0.0, out_mm, diameter_mm, colour)), diameter_mm, out_mm) > 1.0


def test_what_a_line_shows_between_dots_is_not() -> None:
    between = seen(*((side * STEP_DEG, 0.0, 2.4, BLUE) for side in (-1, 1)))
    assert odds(between, 1.4) < -1.0


def test_hundredths_of_a_millimetre_never_decide(monkeypatch: pytest.MonkeyPatch) -> None:
    view = seen((0.0, 0.15, 1.8, CHALK))
    lines = RING_MM + np.arange(-0.15, 0.16, 0.03)
    quick = np.array([odds(view, 1.8, 0.15, line) for line in lines])
    monkeypatch.setattr(module, "_undecided", lambda found, _: np.arange(len(found)))
    told = np.array([odds(view, 1.8, 0.15, line) for line in lines])
    assert np.abs(np.diff(told)).max() < 1.5
    assert np.ptp(told) > 1.0
    # Nor does it what is not asked, to save time.
    assert ((quick > 0) == (told > 0)).all()
