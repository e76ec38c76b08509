"""Rows of petals on drawn panels: all found, tips where they were drawn, short ones named, nothing invented."""

import numpy as np
import pytest

from aligncheck.photo import Photo
from aligncheck.rows import Rows, find_petals
from tests.closeness import assert_within
from tests.rows.petal_panel import PLAN, SEGMENTS, PetalPanel, draw


def found_on(drawn: PetalPanel) -> Rows:
    rows = find_petals(drawn.photo, drawn.drift)
    assert rows is not None
    return rows


@pytest.fixture(scope="module")
def pointed() -> tuple[PetalPanel, Rows]:
    drawn = draw("pointed", short=(1, 3, 6.0))
    return drawn, found_on(drawn)


def errors_mm(drawn: PetalPanel, rows: Rows) -> np.ndarray:
    """Distance of every true tip from the nearest found one."""
    tips = np.array([petal.tip_mm for petal in rows.petals])
    return np.hypot(*(drawn.tips_mm.reshape(-1, 1, 2) - tips).transpose(2, 0, 1)).min(1)


def test_all_petals_are_found_once(pointed: tuple[PetalPanel, Rows]) -> None:
    """Two rows of as many petals as segments, on spokes and between them, none besides."""
    _, rows = pointed
    assert [len(row.petals) for row in rows.rows] == [SEGMENTS, SEGMENTS]
    assert [row.place for row in rows.rows] == ["on spokes", "between spokes"]


def test_tips_are_where_they_were_drawn(pointed: tuple[PetalPanel, Rows]) -> None:
    """To a third of a stroke's width, and within the stated u95 for nearly all."""
    drawn, rows = pointed
    errors = errors_mm(drawn, rows)
    assert np.sqrt(np.mean(errors**2)) < 0.4
    u95 = np.median([petal.tip_u95_mm for petal in rows.petals])
    assert np.mean(errors < u95) >= 0.9


def test_the_short_petal_is_named_and_no_other(pointed: tuple[PetalPanel, Rows]) -> None:
    """Its row, its place and by how much."""
    _, rows = pointed
    (short,) = rows.short
    assert (short.row, short.segment) == (2, 4)
    # Own tips stray by half a millimetre, and so does the row's median by its share.
    assert short.inward_mm == pytest.approx(6.0, abs=1.5)
    assert short.ideal_radius_mm == pytest.approx(PLAN[1][1], abs=0.6)


def test_a_short_petal_does_not_blur_where_its_row_ends(pointed: tuple[PetalPanel, Rows]) -> None:
    drawn, rows = pointed
    for row, tips in zip(rows.rows, drawn.tips_mm, strict=True):
        true = np.median(np.hypot(*(tips - drawn.drift.centre_mm).T))
        assert_within(row.tip_radius_mm, row.tip_radius_u95_mm, true, at_most=0.85)


def test_without_a_short_petal_none_is_named() -> None:
    """Hands that stray by half a millimetre are no fault."""
    assert not found_on(draw("pointed", seed=5)).short


def test_round_ends_are_found_too() -> None:
    """Tips of round petals lie where their two sides meet."""
    drawn = draw("round", seed=7)
    rows = found_on(drawn)
    assert len(rows.petals) == 2 * SEGMENTS
    assert np.sqrt(np.mean(errors_mm(drawn, rows) ** 2)) < 0.5


def test_tips_that_run_out_in_one_stroke_are_found_at_its_end() -> None:
    """An ogee between spokes: where both sides have become one line, its end is the tip."""
    drawn = draw("ogee", seed=4)
    rows = found_on(drawn)
    (between,) = [row for row in rows.rows if row.place == "between spokes"]
    tips = drawn.tips_mm[1]
    off = [np.hypot(*(tips - petal.tip_mm).T).min() for petal in between.petals]
    assert len(off) == SEGMENTS
    assert np.sqrt(np.mean(np.square(off))) < 0.5
    assert not rows.short


def test_blue_chalk_on_white() -> None:
    """Colours of panel and chalk do not matter."""
    drawn = draw("pointed", seed=11, panel_rgb=(225, 224, 220), chalk_rgb=(70, 90, 170))
    rows = found_on(drawn)
    assert len(rows.petals) == 2 * SEGMENTS
    assert np.sqrt(np.mean(errors_mm(drawn, rows) ** 2)) < 0.5


def test_a_marked_panel_has_no_petals() -> None:
    """Spokes and rings alone are not taken for petals, even when one insists."""
    drawn = draw(rows=0)
    assert find_petals(drawn.photo, drawn.drift) is None
    assert find_petals(drawn.photo, drawn.drift, insist=True) is None


def test_petals_that_are_not_traced_yet_are_said_and_not_short() -> None:
    """Three of ten of the outer row are left out: the rest are measured, and where the three belong is told."""
    drawn = draw("pointed", seed=4, untraced=frozenset({(1, 2), (1, 3), (1, 4)}))
    rows = found_on(drawn)
    assert [len(row.petals) for row in rows.rows] == [SEGMENTS, SEGMENTS - 3]
    assert not rows.short
    assert {petal.segment for petal in rows.rows[1].petals} == set(range(1, SEGMENTS + 1)) - {3, 4, 5}
    (note,) = rows.notes
    # Rays halfway at 94, 130 and 166 degrees.
    assert note.text.startswith("Row 2: 3 of 10 petals do not show, from 3 o'clock to ")


def test_rows_that_all_show_leave_nothing_open(pointed: tuple[PetalPanel, Rows]) -> None:
    assert pointed[1].notes == ()


def test_glare_over_a_third_of_the_panel_hides_petals_and_makes_none_short() -> None:
    """Where all is white no petal is seen or called short, and what does not show is said."""
    drawn = draw("pointed", seed=4)
    x = np.linspace(-1, 1, drawn.photo.rgb.shape[1])[:, None]
    veil = np.clip((x - 0.2) * 8, 0, 1)
    wet = Photo(np.round(drawn.photo.rgb + (252 - drawn.photo.rgb.astype(float)) * veil).astype(np.uint8))
    rows = find_petals(wet, drawn.drift)
    assert rows is not None
    assert not rows.short
    for row in rows.rows:
        hidden = SEGMENTS - len(row.petals)
        assert 1 <= hidden <= SEGMENTS // 2
    assert [note.code for note in rows.notes] == ["petals_absent"] * len(rows.rows)
    # All is white from 39 mm on: the last tip that is told lies no farther than what still shows of its sides.
    assert all(petal.tip_mm[0] < 45 for petal in rows.petals)
