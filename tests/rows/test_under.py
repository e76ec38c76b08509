"""Tips that lie under spokes: told from how much chalk lies across the spoke, and honest where that tells nothing."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.checking import check
from tests.bench.traced_scenes import traced_scene
from tests.render import photograph


@pytest.mark.parametrize("seed", [7])
def test_slender_tips_on_spokes_are_not_short_in_common(seed: int, tmp_path: Path) -> None:
    _, drawing, scene = traced_scene(seed)
    path = photograph(drawing, scene, seed).save(tmp_path / "under.jpg")
    one = check(path, (scene.panel.width_mm, scene.panel.height_mm))
    assert one.rows is not None
    true = np.array([petal.tip_mm for petal in drawing.petals])
    for row in one.rows.rows:
        if row.place == "between spokes":
            continue
        tips = np.array([petal.tip_mm for petal in row.petals])
        nearest = true[[int(np.hypot(*(true - tip).T).argmin()) for tip in tips]]
        centre = np.asarray(one.drift.centre_mm)
        inward = np.hypot(*(nearest - centre).T) - np.hypot(*(tips - centre).T)
        assert abs(np.median(inward)) < 1.0
        held = [np.hypot(*(tip - at)) <= p.tip_u95_mm for tip, at, p in zip(tips, nearest, row.petals, strict=True)]
        assert np.mean(held) > 0.85
