"""Domes in the panel's own colour, lit from one side: found as wholes, not by their highlights."""

import numpy as np
import pytest

from aligncheck.dots import find_dots
from tests.dots.domes import Lit
from tests.dots.painted import Kind, Painting

RED, PALE = (150, 45, 45), (225, 220, 205)


def found_among(lit: Lit) -> tuple[np.ndarray, np.ndarray, np.ndarray, int]:
    """Of each true dome the diameter found, its error and the distance of its middle, and how many dots are false."""
    photo, marks, places, diameters = lit.draw()
    dots = find_dots(photo, marks, lit.painting.order)
    assert dots is not None
    middles = np.array([d.centre_mm for d in dots.dots])
    sizes = np.array([d.diameter_mm for d in dots.dots])
    apart = np.hypot(*(places[:, None] - middles).T).T
    nearest = apart.argmin(1)
    met = apart.min(1) < diameters / 2
    false = len(set(range(len(middles))) - set(nearest[met]))
    return met, np.where(met, sizes[nearest] - diameters, np.nan), np.where(met, apart.min(1), np.nan), false


@pytest.mark.parametrize(
    ("ground", "lamp_deg"), [((150, 45, 45), 100.0), ((60, 75, 110), 320.0), ((45, 45, 48), 210.0)]
)
def test_domes_of_the_panels_own_colour_are_whole(ground: tuple[int, int, int], lamp_deg: float) -> None:
    """Four sizes of the panel's paint, with one pale kind that anybody sees."""
    kinds = [Kind(30, 0, 3.0, ground), Kind(45, 15, 4.5, ground), Kind(62, 0, 2.6, ground), Kind(80, 15, 5.0, PALE)]
    met, wrong, off, false = found_among(Lit(Painting(kinds, ground=ground), lamp_deg))
    assert met.mean() > 0.97
    assert false == 0
    assert np.sqrt(np.nanmean(wrong**2)) < 0.4
    assert np.sqrt(np.nanmean(off**2)) < 0.3


def test_a_missing_dome_of_the_panels_own_colour_is_named() -> None:
    kinds = [Kind(30, 0, 3.0, RED), Kind(45, 15, 5.5, RED), Kind(80, 15, 5.0, PALE)]
    lit = Lit(Painting(kinds, ground=RED, gone={(1, 4)}))
    photo, marks, _, _ = lit.draw()
    dots = find_dots(photo, marks, 12)
    assert dots is not None
    (gap,) = dots.missing
    assert np.hypot(*(gap.centre_mm - marks.centre.xy_mm - lit.painting.centre_mm(1, 4))) < 1.0


@pytest.mark.parametrize("lamp_deg", [20.0, 250.0])
def test_plain_dots_are_no_parts_of_larger_domes(lamp_deg: float) -> None:
    """Paints unlike the panel, with shadows: as large as they are."""
    kinds = [Kind(30, 0, 1.6, PALE), Kind(45, 15, 4.0, (60, 130, 180)), Kind(62, 0, 2.6, (220, 170, 60))]
    met, wrong, off, false = found_among(Lit(Painting(kinds, ground=(60, 60, 62)), lamp_deg))
    assert met.all()
    assert false == 0
    assert np.sqrt(np.nanmean(wrong**2)) < 0.2
    assert np.sqrt(np.nanmean(off**2)) < 0.15
