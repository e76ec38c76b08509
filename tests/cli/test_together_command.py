"""`aligncheck check --together` as a shell sees it."""

import csv
import hashlib
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


def test_table_has_the_joint_answer_too(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """One table: the rows of each photo, those of the photo that was not measured, and the joint answer's."""
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(photos[1].read_bytes()[:3000])
    sheet = tmp_path / "all.csv"
    ran = command("check", "--together", *photos[:2], broken, *PANEL, "--out", tmp_path, "--csv", sheet, "--jobs", "1")
    assert ran.status == 2
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8-sig").splitlines()))
    result = json.loads((tmp_path / "together.json").read_text())
    assert {r["photo"] for r in rows} == {"p0.jpg", "p1.jpg", "broken.jpg", "together"}
    joint = [r for r in rows if r["photo"] == "together"]
    assert [float(r["move_mm"]) for r in joint if r["mark"] == "spoke"] == [s["move_mm"] for s in result["spokes"]]
    assert [float(r["radius_mm"]) for r in joint if r["mark"] == "ring"] == [r["radius_mm"] for r in result["rings"]]
    assert [n["code"] for n in result["notes"] if "broken.jpg" in n["text"]] == ["together_not_measured"]


def test_photos_that_cannot_be_joined_lose_nothing(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """Two different panels: one line says so, each photo's own answer and the table are written all the same."""
    scene = ordinary_scene(31, (1400, 1050), most_tilt_deg=10.0)
    other = by_hand(9, segments=8, rings=4, pitch_mm=25.4, ghosts=0)
    stranger = photograph(other, scene, 5).save(tmp_path / "other.jpg")
    sheet = tmp_path / "all.csv"
    out = tmp_path / "out"
    ran = command("check", "--together", photos[0], stranger, *PANEL, "--out", out, "--csv", sheet, "--jobs", "1")
    assert ran.status == 2 and len(ran.err.splitlines()) == 1
    assert "p0.jpg" in ran.err and "other.jpg" in ran.err
    assert (out / "p0.json").exists() and (out / "other.json").exists() and not (out / "together.json").exists()
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8-sig").splitlines()))
    assert {r["photo"] for r in rows} == {"p0.jpg", "other.jpg", "together"}
    assert [r["mark"] for r in rows if r["photo"] == "together"] == ["not measured"]


def test_photos_of_one_name_from_two_folders(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """Cameras count alike: the answer is drawn on the photo that it stands in, whatever the other is called."""
    one, two = (tmp_path / name / "IMG_1.jpg" for name in ("first", "second"))
    for source, path in ((photos[1], one), (photos[0], two)):
        path.parent.mkdir()
        path.write_bytes(source.read_bytes())
    out = tmp_path / "out"
    ran = command("check", "--together", one, two, *PANEL, "--out", out, "--jobs", "1")
    assert ran.status in (0, 1), ran.err
    result = json.loads((out / "together.json").read_text())
    assert len(result["photo"]) == 2 and all(p["used"] for p in result["photo"])
    first, second = (hashlib.sha256(p.read_bytes()).hexdigest() for p in (one, two))
    assert [p["sha256"] for p in result["photo"]] == [first, second]


def test_the_same_photo_twice_counts_once(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    """A copy would seem to agree perfectly: it is named, and the answer is that of the others."""
    copy = tmp_path / "p0-copy.jpg"
    copy.write_bytes(photos[0].read_bytes())
    answers = []
    for files in ([photos[0], copy, photos[1]], photos[:2]):
        out = tmp_path / str(len(files))
        ran = command("check", "--together", *files, *PANEL, "--out", out, "--jobs", "1")
        assert ran.status in (0, 1), ran.err
        answers.append(json.loads((out / "together.json").read_text()))
    assert [p["used"] for p in answers[0]["photo"]] == [True, False, True]
    assert "p0-copy.jpg is the same photo as p0.jpg" in answers[0]["photo"][1]["left_out"]
    assert answers[0]["spokes"] == answers[1]["spokes"]


def test_single_photo_is_refused(command: Callable, photos: list[Path], tmp_path: Path) -> None:
    ran = command("check", "--together", photos[0], *PANEL, "--out", tmp_path)
    assert ran.status == 2 and "two photos or more" in ran.err
    assert not (tmp_path / "together.json").exists()
