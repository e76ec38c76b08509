"""`aligncheck check --together` as a shell sees it."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from aligncheck.geometry.angles import bearing, wrap
from aligncheck.result import result_schema
from tests.render import by_hand, ordinary_scene, photograph

PANEL = ("--panel", "304.8x304.8mm")


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """One drawn panel from three places, by three phones."""
    folder = tmp_path_factory.mktemp("together")
    drawing = by_hand(4, segments=8, rings=4, pitch_mm=25.4, ghosts=0)
    panel = ordinary_scene(4).panel
    scenes = [ordinary_scene(seed, (1400, 1050), most_tilt_deg=14.0, panel=panel) for seed in (4, 11, 23)]
    return [photograph(drawing, s, k).save(folder / f"p{k}.jpg") for k, s in enumerate(scenes)]


def test_one_answer_beside_the_single_ones(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """together.json keeps the schema, names all photos and holds every spoke within its interval of the truth."""
    ran = command("check", "--together", *photos, *PANEL, "--out", tmp_path, "--jobs", "1")
    assert ran.status in (0, 1), ran.err
    assert "3 photos together" in ran.out
    result = json.loads((tmp_path / "together.json").read_text())
    Draft202012Validator(result_schema()).validate(result)
    assert [p["file"] for p in result["photo"]] == ["p0.jpg", "p1.jpg", "p2.jpg"]
    assert all(p["used"] and np.array(p["corners_px"]).shape == (4, 2) for p in result["photo"])
    assert all((tmp_path / f"p{k}.json").exists() for k in range(3))
    assert (tmp_path / "together.overlay.jpg").exists()
    truth = json.loads(photos[0].with_suffix(".json").read_text())
    assert len(result["spokes"]) == len(truth["spokes"])
    for true in truth["spokes"]:
        end = np.array(true.get("extension_outer_mm", true["outer_mm"]))
        angle = float(bearing(end - np.array(true["inner_mm"])))
        mine = min(result["spokes"], key=lambda s: abs(float(wrap(s["angle_deg"] - angle))))
        assert abs(float(wrap(mine["angle_deg"] - angle))) < 1.5 * mine["angle_u95_deg"]


def test_one_corrupt_and_one_other_panel(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """A damaged file and a stranger among them: a line each, the rest joined, nothing lost."""
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(photos[1].read_bytes()[:3000])
    scene = ordinary_scene(31, (1400, 1050), most_tilt_deg=10.0)
    stranger = photograph(by_hand(9, segments=8, rings=4, pitch_mm=25.4, ghosts=0), scene, 5).save(
        tmp_path / "other.jpg"
    )
    out = tmp_path / "out"
    ran = command("check", "--together", *photos[:2], broken, stranger, *PANEL, "--out", out, "--jobs", "1")
    # The damaged photo was not measured: that is the worst of them.
    assert ran.status == 2
    assert "broken.jpg" in ran.err and len(ran.err.splitlines()) == 1
    assert "other.jpg shows other marks" in ran.out
    used = {p["file"]: p["used"] for p in json.loads((out / "together.json").read_text())["photo"]}
    assert used == {"p0.jpg": True, "p1.jpg": True, "other.jpg": False}


def test_single_photo_is_refused(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    ran = command("check", "--together", photos[0], *PANEL, "--out", tmp_path)
    assert ran.status == 2 and "two photos or more" in ran.err
    assert not (tmp_path / "together.json").exists()
