"""Thousands of dots on one panel: found, arranged in rings, and the few that are missing named.

`tests/bench/ten_thousand.py` measures ten thousand through the whole command.
"""

from collections import Counter

import numpy as np
import pytest

from aligncheck.dots import Dots, find_dots
from aligncheck.geometry.near import Near
from aligncheck.photo import Photo
from tests.dots.many import many_dots, scene_of
from tests.render import Drawing, photograph
from tests.truth import true_marks

COUNT, SEGMENTS, PANEL_MM = 2500, 20, 304.8


@pytest.fixture(scope="module")
def many() -> tuple[Drawing, Dots]:
    drawing = many_dots(COUNT, PANEL_MM, SEGMENTS, (2.2, 4.0), seed=5)
    picture = photograph(drawing, scene_of(PANEL_MM, (2592, 1944), seed=5), seed=5)
    dots = find_dots(Photo(picture.pixels), true_marks(picture.truth), SEGMENTS)
    assert dots is not None
    return drawing, dots


def test_nearly_all_are_found_and_nothing_else(many: tuple[Drawing, Dots]) -> None:
    drawing, dots = many
    true, size = (np.array([getattr(d, k) for d in drawing.dots]) for k in ("centre_mm", "diameter_mm"))
    found, which, off = Near(true).pairs([d.centre_mm for d in dots.dots], 1.0)
    assert len(drawing.dots) > COUNT - 4
    assert len(np.unique(which)) > 0.98 * len(true)
    assert len(np.unique(found)) > 0.99 * len(dots.dots)
    assert np.sqrt(np.mean(off**2)) < 0.12
    error = np.array([dots.dots[i].diameter_mm for i in found]) - size[which]
    assert np.sqrt(np.mean(error**2)) < 0.15


def test_they_stand_in_the_rings_that_were_drawn(many: tuple[Drawing, Dots]) -> None:
    drawing, dots = many
    assert dots.arrangement is not None
    drawn = Counter(dot.group for dot in drawing.dots)
    assert [ring.count for ring in dots.arrangement.rings] == list(drawn.values())
    assert sum(ring.places for ring in dots.arrangement.rings) == len(drawing.dots) + len(drawing.missing_dots)


def test_every_missing_one_is_named_or_told_to_be_unsure_and_no_other(many: tuple[Drawing, Dots]) -> None:
    drawing, dots = many
    gone = np.array([d.centre_mm for d in drawing.missing_dots])
    named, which, _ = Near(gone).pairs([m.centre_mm for m in dots.missing], 1.0)
    assert len(named) == len(dots.missing)
    unsure = sum(int(note.values["what"].split()[0]) for note in dots.notes if note.code == "dots_unjudged")
    assert len(set(which.tolist())) + unsure == len(gone)
    assert len(set(which.tolist())) >= 2
