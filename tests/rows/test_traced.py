"""Petals on rendered photos of other makers' rows: each found once, the short one named."""

from pathlib import Path

import numpy as np
import pytest

from aligncheck.checking import Check, check
from tests.bench.traced_scenes import traced_scene
from tests.render import Drawing, photograph


def checked(seed: int, folder: Path) -> tuple[Drawing, Check]:
    """The drawing that a seed stands for, and the check of its photo."""
    _, drawing, scene = traced_scene(seed)
    path = photograph(drawing, scene, seed).save(folder / "traced.jpg")
    return drawing, check(path, (scene.panel.width_mm, scene.panel.height_mm))


def named_short(one: Check) -> list[int]:
    assert one.rows is not None
    return [petal.segment for petal in one.rows.short]


@pytest.mark.parametrize(
    ("seed", "most_off_mm"),
    [
        # Sides two millimetres broad on marks of one, on a panel of 16 inches: chalk, not paint, and one row, not two.
        (2, 1.5),
        # Slender petals on spokes: the sides end under the spoke and do not run on along it.
        (7, 3.0),
        # Both sides run together millimetres before the tip, the short petal's too.
        (21, 1.5),
    ],
)
def test_every_petal_once_and_the_short_one_named(seed: int, most_off_mm: float, tmp_path: Path) -> None:
    drawing, one = checked(seed, tmp_path)
    assert one.stage == "rows"
    assert one.rows is not None
    assert [len(row.petals) for row in one.rows.rows] == [drawing.segments]
    tips = np.array([petal.tip_mm for petal in one.rows.petals])
    off = np.array([np.hypot(*(tips - petal.tip_mm).T).min() for petal in drawing.petals])
    assert np.median(off) < most_off_mm
    assert off.max() < 4.0
    (short,) = [petal for petal in drawing.petals if petal.short]
    nearest = int(np.hypot(*(tips - short.tip_mm).T).argmin())
    assert named_short(one) == [one.rows.petals[nearest].segment]
