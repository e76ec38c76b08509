"""One fault planted in a rendered piece leads the list of departures, in its place; without it the list is empty."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from aligncheck.photo import Photo
from aligncheck.repeat import Repeat, find_repeat
from aligncheck.repeat.repeat import Departure
from tests.render import Rendered
from tests.repeat.faults import FAULTS, Fault
from tests.repeat.lights import LIGHTS
from tests.repeat.planted import design, paint
from tests.truth import true_marks, true_panel

SEED = 11


@cache
def picture(fault: str | None) -> tuple[Rendered, Fault | None]:
    """The seed's piece with that fault."""
    drawing, scene = design(SEED)
    planted = None
    if fault is not None:
        drawing, planted = FAULTS[fault](drawing, np.random.default_rng(SEED))
    return paint(drawing, replace(scene, finish=replace(scene.finish, orientation=1)), SEED), planted


def look(fault: str | None, light: str = "as taken") -> tuple[Repeat, Fault | None]:
    """The repeat test on it in that light."""
    taken, planted = picture(fault)
    truth, panel, change = taken.truth, true_panel(taken.truth), LIGHTS[light]
    photo = Photo(taken.pixels if change is None else change(taken.pixels, panel))
    centre = np.array(truth["centre_mark_mm"])
    return find_repeat(photo, panel, centre, truth["segments"], marks=true_marks(truth)), planted


def lies_on(one: Departure, fault: Fault | None) -> bool:
    return fault is not None and bool(np.hypot(*(one.place_mm - fault.at_mm)) < fault.radius_mm + 1.0)


@pytest.mark.parametrize("light", ["as taken", "4:1 across", "warm and cool", "arm's shadow"])
def test_a_faultless_piece_has_no_departure(light: str) -> None:
    """Neither dots that stray by a hand's 0.3 mm depart, nor gaps in chalk rings, nor what the lamp does."""
    assert look(None, light)[0].departures == ()


@pytest.mark.parametrize("fault", ["missing", "shifted 3 mm", "petal 12"])
def test_a_fault_leads_the_list(fault: str) -> None:
    repeat, planted = look(fault)
    assert len(repeat.departures) >= 1
    assert lies_on(repeat.departures[0], planted)


def test_a_fault_is_seen_in_uneven_light() -> None:
    repeat, planted = look("missing", "4:1 across")
    assert len(repeat.departures) == 1
    assert lies_on(repeat.departures[0], planted)
