"""Marks of a painted piece: read beside the dots, which are no chalk, and the centre that is known best."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck import check
from aligncheck.centrepiece import Centrepiece
from aligncheck.checking import Check
from aligncheck.dots.beside import marks_beside
from aligncheck.dots.filled import filled_share
from aligncheck.geometry.angles import bearing, wrap
from aligncheck.later import Later, no_paint
from aligncheck.margin import find_margin
from aligncheck.marks import Centre
from aligncheck.marks.find import find_marks
from aligncheck.photo import Photo
from tests.closeness import assert_mostly_within, assert_within
from tests.dots.variety import PANEL_MM, Topic, photo
from tests.margin.true_margins import true_margins

#: Order and seed of pieces whose rows of dots half way between the spokes count as spokes where dots are taken for
#: chalk. Of the last one's chalk hardly anything shows.
DOUBLED = ((6, 5), (8, 4))


def painted(order: int, seed: int) -> tuple[Photo, dict]:
    picture = photo(Topic(order, (3.0, 8.0), width_px=1600), seed)
    return Photo(picture.pixels), picture.truth


@pytest.fixture(scope="module", params=DOUBLED, ids=str)
def done(request: pytest.FixtureRequest) -> tuple[Check, dict]:
    seen, truth = painted(*request.param)
    return check(seen, (PANEL_MM, PANEL_MM)), truth


def test_rows_of_dots_between_spokes_are_no_spokes(done: tuple[Check, dict]) -> None:
    found, truth = done
    assert find_marks(found.photo, found.panel).segments == 2 * len(truth["spokes"])
    assert found.marks.segments == len(truth["spokes"])
    assert found.repeat is not None
    assert found.repeat.order == len(truth["spokes"])


def test_what_shows_of_the_chalk_is_read_as_it_lies(done: tuple[Check, dict]) -> None:
    found, truth = done
    if not found.drift.spokes:
        assert any(note.code == "chalk_hidden" for note in found.notes)
        return
    true = np.array([bearing(np.subtract(s["outer_mm"], s["inner_mm"])) for s in truth["spokes"]])
    off = np.array([wrap(spoke.angle_deg - true) for spoke in found.drift.spokes])
    errors = off[np.arange(len(off)), np.abs(off).argmin(1)]
    assert len(errors) == len(true)
    assert_mostly_within(errors, [spoke.angle_u95_deg for spoke in found.drift.spokes])
    radii = np.array([ring["radius_mm"] for ring in truth["rings"]])
    assert all(np.abs(radii - ring.radius_mm).min() < 1.0 for ring in found.drift.rings)
    assert any(note.code == "chalk_under_paint" for note in found.notes)


def test_the_centre_is_within_its_claim(done: tuple[Check, dict]) -> None:
    found, truth = done
    off = np.hypot(*(np.array(found.drift.centre_mm) - truth["centre_mark_mm"]))
    assert_within(off, found.drift.centre_u95_mm, 0.0, at_most=0.5)


def test_a_mark_is_taken_where_the_dots_say_it_is_and_not_elsewhere(done: tuple[Check, dict]) -> None:
    found, _ = done
    assert found.dots is not None
    assert found.dots.turning_point is not None
    shown = found.marks
    if shown.centre.source != "mark":
        assert any(note.code == "centre_by_dots" for note in found.notes)
        return
    assert marks_beside(found.photo, shown, found.dots).centre.source == "mark"
    far = Centre(shown.centre.xy_mm + (2.0, 0.0), found.dots.turning_point.covariance, "repeat")
    taken = marks_beside(found.photo, shown, replace(found.dots, turning_point=far))
    assert taken.centre is far
    assert taken.notes[0].code == "centre_by_dots"


def test_spokes_do_not_end_where_dots_do(done: tuple[Check, dict]) -> None:
    found, truth = done
    sides = find_margin(found.photo, found.marks).sides
    off = np.array([side.margin_mm for side in sides]) - true_margins(truth)
    assert {side.by for side in sides} == {"paint"}
    assert_mostly_within(off, [side.u95_mm for side in sides])


def test_a_patch_of_dots_is_no_thing_that_lies_there(done: tuple[Check, dict]) -> None:
    found, _ = done
    assert found.dots is not None
    dot = max(found.dots.dots, key=lambda d: d.diameter_mm)
    square = dot.diameter_mm / 2 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    assert filled_share(found.dots, [dot.centre_mm + square]) == pytest.approx(np.pi / 4, abs=0.1)
    corner = np.array([-PANEL_MM, -PANEL_MM]) / 2 + 10
    assert filled_share(found.dots, [corner + square]) == 0
    # Of a piece only its outlines are looked at.
    patch = object.__new__(Centrepiece)
    object.__setattr__(patch, "pieces_mm", (dot.centre_mm + square,))
    assert no_paint(patch, Later("painted", dots=found.dots)) is None
    assert no_paint(patch, Later("rows")) is patch
