"""Rows of which only some petals are traced: those that are there are found, and no others."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.checking import check
from tests.bench.traced_kinds import traced_kind
from tests.render import photograph


@pytest.mark.parametrize("seed", [212])
def test_petals_that_are_there_are_found(seed: int, tmp_path: Path) -> None:
    _, drawing, scene = traced_kind(seed, (1600, 1200))
    path = photograph(drawing, scene, seed).save(tmp_path / "begun.jpg")
    one = check(path, (scene.panel.width_mm, scene.panel.height_mm))
    assert one.stage == "rows"
    assert one.rows is not None
    tips = np.array([petal.tip_mm for petal in one.rows.petals])
    off = np.array([np.hypot(*(tips - petal.tip_mm).T).min() for petal in drawing.petals])
    assert len(tips) == len(drawing.petals)
    assert off.max() < 4.0
    shown = {petal.row for petal in drawing.petals}
    whole = all(sum(petal.row == row for petal in drawing.petals) == drawing.segments for row in shown)
    assert whole != any(note.code == "petals_absent" for note in one.notes)
