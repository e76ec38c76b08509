"""Rows that a first look does not find: they are looked for where chalk is left over."""

import numpy as np

from aligncheck.rows import find_petals
from tests.rows.petal_panel import SEGMENTS, draw

#: A large and a small petal in every segment, a quarter of it to either side of the spoke; the large ones cross rings.
TWO_A_SEGMENT = ((0.5, 80.0, 42.0, 0.42), (1.5, 66.0, 38.0, 0.36))


def test_two_petals_a_segment_are_two_rows_beside_the_spokes() -> None:
    """Neither row has its axes on spokes or halfway between, where sides of neighbours look like petals."""
    drawn = draw("pointed", short=(0, 3, 6.0), plan=TWO_A_SEGMENT)
    rows = find_petals(drawn.photo, drawn.drift)
    assert rows is not None
    assert [row.place for row in rows.rows] == ["beside spokes", "beside spokes"]
    assert [len(row.petals) for row in rows.rows] == [SEGMENTS, SEGMENTS]
    tips = np.array([petal.tip_mm for petal in rows.petals])
    off = np.hypot(*(drawn.tips_mm.reshape(-1, 1, 2) - tips).transpose(2, 0, 1)).min(1)
    assert np.sqrt(np.mean(off**2)) < 0.6
    (short,) = rows.short
    assert (short.row, short.segment) == (2, 4)
