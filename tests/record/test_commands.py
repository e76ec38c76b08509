"""The record's commands from the first to the last, on rendered photos that are really checked."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from aligncheck.cli import run
from aligncheck.record import new_record, open_record
from aligncheck.record.store import store
from tests.record.pieces import shown
from tests.render import Drawing, by_hand, ordinary_scene, photograph


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A marked panel, and the same panel with nothing on it."""
    folder = tmp_path_factory.mktemp("photos")
    scene = ordinary_scene(4, (1600, 1200), most_tilt_deg=12.0)
    drawing = by_hand(4, segments=8, rings=4, pitch_mm=25.4, ghosts=0)
    marked = photograph(drawing, scene, 4).save(folder / "marked.jpg")
    return marked, photograph(Drawing(), scene, 4).save(folder / "bare.jpg")


def test_a_piece_from_new_to_export(
    photos: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(tmp_path / "my piece")

    def ran(*arguments: str, status: int = 0) -> str:
        assert run(["record", *arguments]) == status
        return capsys.readouterr().out

    ran("new", folder, "--panel", "12x12in", "--name", "Bébé / 🌼", "--segments", "8")
    assert "kept as" in ran("add", folder, *map(str, photos), "--taken", "2026-05-12")
    assert "in the record already" in ran("add", folder, str(photos[0]))
    listed = ran("list", folder)
    assert "Bébé / 🌼, 12x12in, 2 stages" in listed
    assert "Not measured: Not measured" in listed
    ran("note", folder, "Not measured", "--title", "Bare", "--note", "before the chalk")
    ran("describe", folder, "--colour", "navy", "--colour", "bone", "--tool", "compass", "--caution", "dry first")
    piece = open_record(Path(folder)).piece
    assert (piece.colours, piece.tools, piece.segments) == (("navy", "bone"), ("compass",), 8)
    assert "before the chalk" in ran("show", folder, "Bare")
    assert "Spoke at" in ran("show", folder, "Marked") or "fits" in ran("show", folder, "Marked")
    assert "Nothing is damaged or missing" in ran("verify", folder)
    written = ran("export", folder, "--film-edge", "0").split("\n")
    assert any(line.endswith(".html") for line in written)
    assert not any("film" in line for line in written)
    # Again, over the first ones.
    ran("export", folder, "--film-edge", "0")
    ran("remove", folder, "Bare")
    assert "1 stage" in ran("list", folder)


def test_an_export_does_not_replace_what_is_not_ours(
    photos: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, out = tmp_path / "piece", tmp_path / "out"
    assert run(["record", "new", str(folder), "--panel", "12x12in"]) == 0
    assert run(["record", "add", str(folder), str(photos[1])]) == 0
    out.mkdir()
    (out / "piece.html").write_text("a letter")
    assert run(["record", "export", str(folder), "--out", str(out), "--film-edge", "0"]) == 2
    assert "was not made by aligncheck" in capsys.readouterr().err
    assert (out / "piece.html").read_text() == "a letter"
    assert len(list(out.iterdir())) == 1


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal of its own")
def test_an_export_shows_how_far_it_is_where_someone_looks(tmp_path: Path) -> None:
    new_record(tmp_path / "piece", "12x12in")
    for k in range(4):
        store(tmp_path / "piece", shown(k))
    master, slave = os.openpty()
    command = [sys.executable, "-c", "from aligncheck.cli import main; main()", "record", "export"]
    done = subprocess.run([*command, str(tmp_path / "piece"), "--film-edge", "0"], stderr=slave, capture_output=False,
                          stdout=subprocess.PIPE, check=True)  # fmt: skip
    os.close(slave)
    told = os.read(master, 65536).decode()
    os.close(master)
    shares = [int(found) for found in re.findall(r"(\d+) %", told)]
    assert shares == sorted(shares)
    assert len(shares) >= 8 and shares[-1] == 100
    assert b"%" not in done.stdout
