"""What is no layout: the rule of the front, whatever the first look believed."""

import numpy as np
import pytest

import aligncheck.marks.find as front
from aligncheck.errors import MarksError
from aligncheck.marks import find_marks
from tests.marks.drawn import chalk, detection, photograph

SIZE, SCALE = 200.0, 6.0


@pytest.mark.parametrize("radii", [(30.0,), (30.0, 50.0)])
def test_a_single_circle_without_spokes_is_no_layout(radii, monkeypatch):
    """Grain or a cup's ring: one circle is anything round, two about one centre are rings."""
    rng = np.random.default_rng(4)
    photo, panel = photograph(chalk([], SIZE, SCALE, rng, radii), SIZE, SCALE, rng)
    believed = detection([None] * 12, 12, rings_mm=radii, reach_mm=82.0, rng=rng)
    monkeypatch.setattr(front, "detect", lambda *_: believed)
    if len(radii) == 1:
        with pytest.raises(MarksError) as refused:
            find_marks(photo, panel)
        assert refused.value.code == "nothing_drawn"
    else:
        assert len(find_marks(photo, panel).rings) == 2
