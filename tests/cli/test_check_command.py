"""`aligncheck check` from words to files, run as a shell would run it."""

import csv
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image

from aligncheck import result_schema
from aligncheck.result.ours import is_our_picture

Command = Callable[..., object]
NAMES = {"panel.json", "panel.flat.jpg", "panel.overlay.jpg", "panel.flat-overlay.jpg"}


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory, photo: Path) -> tuple[subprocess.CompletedProcess, Path]:
    """One run of the installed command in a process of its own."""
    out = tmp_path_factory.mktemp("done") / "out"
    words = [sys.executable, "-c", "from aligncheck.cli import main; main()", "check", str(photo)]
    ran = subprocess.run([*words, "--panel", "12x12in", "--out", str(out)], capture_output=True, text=True, check=False)
    return ran, out


def test_results_lie_in_the_folder_and_findings_are_printed(done: tuple) -> None:
    ran, out = done
    assert ran.stderr == ""
    assert {p.name for p in out.iterdir()} == NAMES
    result = json.loads((out / "panel.json").read_text())
    verdicts = [m["verdict"] for m in (*result["spokes"], *result["rings"])]
    assert ran.returncode == int("out" in verdicts)
    first = ran.stdout.splitlines()[0]
    assert first.startswith(("Move", "Everything fits", f"{verdicts.count('unsure')} "))


def test_the_result_fits_the_schema_and_the_truth(done: tuple, photo: Path) -> None:
    result = json.loads((done[1] / "panel.json").read_text())
    jsonschema.Draft202012Validator(result_schema()).validate(result)
    truth = json.loads(photo.with_suffix(".json").read_text())
    assert result["photo"]["file"] == "panel.jpg"
    assert result["segments"] == truth["segments"] == len(result["spokes"])
    assert len(result["rings"]) == len(truth["rings"])
    # Three pixels of this small photo: the wrong panel would be off by dozens.
    assert np.hypot(*(np.array(result["panel"]["corners_px"]) - truth["corners_px"]).T).max() < 3
    assert [s["angle_deg"] for s in result["spokes"]] == sorted(s["angle_deg"] for s in result["spokes"])


def test_the_maps_description_is_enough_to_measure_with(done: tuple) -> None:
    """The corners, taken through lens terms and matrix as the file describes them, lie where the file has them.

    That is nearly where a 12 inch panel has its corners: this one was cut square.
    """
    result = json.loads((done[1] / "panel.json").read_text())
    lens, matrix = result["lens"], np.array(result["panel"]["photo_to_panel"])
    bent = (np.array(result["panel"]["corners_px"]) - (lens["cx_px"], lens["cy_px"])) / lens["focal_px"]
    straight = bent.copy()
    for _ in range(50):
        r2 = (straight**2).sum(1, keepdims=True)
        straight = bent / (1 + lens["k1"] * r2 + lens["k2"] * r2**2)
    q = np.column_stack([straight, np.ones(4)]) @ matrix.T
    np.testing.assert_allclose(q[:, :2] / q[:, 2:], result["panel"]["corners_mm"], atol=0.002)
    expected = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * 152.4
    np.testing.assert_allclose(result["panel"]["corners_mm"], expected, atol=0.05)


def test_pictures_are_ours_of_fair_size_and_carry_no_exif(done: tuple) -> None:
    for path in done[1].glob("*.jpg"):
        assert is_our_picture(path)
        with Image.open(path) as image:
            image.load()
            assert max(image.size) <= 2400
            assert not dict(image.getexif())


def test_a_second_run_replaces_our_results_only(done: tuple, photo: Path, command: Command) -> None:
    out = done[1]
    (out / "panel.json").write_text('{"schema": "aligncheck-result-1", "old": true}')
    assert command("check", photo, "--panel", "12x12in", "--out", out).status in (0, 1)
    assert "old" not in json.loads((out / "panel.json").read_text())
    (out / "panel.json").write_text('{"mine": "dear to me"}')
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    refused = command("check", photo, "--panel", "12x12in", "--out", out)
    assert (refused.status, refused.out) == (2, "")
    assert "panel.json is already in" in refused.err
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before
    (out / "panel.json").write_text('{"schema": "aligncheck-result-1"}')


def test_without_out_results_go_beside_the_photo(tmp_path: Path, photo: Path, command: Command) -> None:
    mine = tmp_path / "mine.jpg"
    mine.write_bytes(photo.read_bytes())
    assert command("check", mine, "--panel", "304.8x304.8mm", "--table").status in (0, 1)
    assert {p.name for p in (tmp_path / "aligncheck").iterdir()} == {n.replace("panel", "mine") for n in NAMES}
    assert mine.read_bytes() == photo.read_bytes()


def test_several_photos_each_told_under_its_name_and_one_table(
    tmp_path: Path, photo: Path, bare: Path, done: tuple, command: Command
) -> None:
    """One good, one with nothing drawn, one no photo at all, one picture of our own: in two processes."""
    (tmp_path / "letter.jpg").write_text("Dear photo")
    ours = done[1] / "panel.overlay.jpg"
    table = tmp_path / "all.csv"
    words = ("check", photo, bare, tmp_path / "letter.jpg", ours, "--panel", "12x12in", "--jobs", 2)
    ran = command(*words, "--out", tmp_path / "out", "--csv", table)
    assert ran.status == 2
    assert ran.out.splitlines()[0] == "panel.jpg"
    lines = ran.err.splitlines()
    assert [line.split()[0].rstrip(":") for line in lines] == ["panel.overlay.jpg", "bare.jpg", "letter.jpg"]
    assert {p.name for p in (tmp_path / "out").iterdir()} == NAMES
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    assert [r["mark"] for r in rows] == ["spoke"] * 8 + ["ring"] * 4 + ["not measured"] * 2
    assert float(rows[0]["move_u95_mm"]) > 0
    table.write_text("mine\n")
    again = command("check", tmp_path / "letter.jpg", "--panel", "12x12in", "--csv", table)
    assert again.status == 2
    assert table.read_text() == "mine\n"


def test_only_our_own_pictures_is_nothing_to_check(done: tuple, command: Command) -> None:
    ran = command("check", done[1] / "panel.flat.jpg", "--panel", "12x12in")
    assert ran.status == 2
    assert "skipped" in ran.err
    assert not (done[1] / "aligncheck").exists()


def test_options_reach_the_check(tmp_path: Path, photo: Path, command: Command) -> None:
    truth = json.loads(photo.with_suffix(".json").read_text())
    corners = [f"{x:.0f},{y:.0f}" for x, y in truth["corners_px"]]
    (tmp_path / "layout.toml").write_text('segments = 8\nring_pitch_mm = "1in"\nrotation_deg = 0\ntolerance_mm = 9\n')
    words = ["check", photo, "--panel", "12x12in", "--out", tmp_path, "--layout", tmp_path / "layout.toml"]
    ran = command(*words, "--tolerance", "40 mm", "--corners", *corners[::-1], "--depth", "3mm")
    assert ran.status == 0, ran.err
    result = json.loads((tmp_path / "panel.json").read_text())
    assert result["tolerance_mm"] == 40
    assert (result["rotation_deg"], result["ring_pitch_mm"]) == (0, 25.4)
    assert {r["ideal_radius_mm"] for r in result["rings"]} == {25.4, 50.8, 76.2, 101.6}
