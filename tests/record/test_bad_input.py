"""Whatever is wrong, one clear line and exit status 2."""

from pathlib import Path

import pytest

from aligncheck.cli import run
from aligncheck.record import new_record
from aligncheck.record.store import store
from tests.record.pieces import shown


@pytest.fixture
def record(tmp_path: Path) -> Path:
    new_record(tmp_path / "piece", "12x12in")
    return tmp_path / "piece"


def _said(capsys: pytest.CaptureFixture[str]) -> str:
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1, lines
    return lines[0]


@pytest.mark.parametrize("command", [["list"], ["show"], ["verify"], ["export"], ["add"]])
def test_a_folder_that_is_no_record(tmp_path: Path, command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    photo = ["photo.jpg"] if command == ["add"] else []
    assert run(["record", *command, str(tmp_path), *photo]) == 2
    assert "is not a record. Begin one with: aligncheck record new" in _said(capsys)


def test_a_record_of_a_newer_format(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = record / "piece.toml"
    path.write_text(path.read_text().replace("format = 1", "format = 7"))
    assert run(["record", "list", str(record)]) == 2
    assert "newer aligncheck (format 7; this one reads 1)" in _said(capsys)


@pytest.mark.parametrize("text", ["format = 1\nname = ", "format = 1\nname = 'x'\n", "format = 'a'\npanel='12x12in'"])
def test_a_spoilt_piece_file(record: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    (record / "piece.toml").write_text(text)
    assert run(["record", "list", str(record)]) == 2
    assert "piece.toml" in _said(capsys)


def test_a_record_is_not_begun_twice_nor_among_other_files(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["record", "new", str(record), "--panel", "12x12in"]) == 2
    assert "is a record already" in _said(capsys)
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("dear")
    assert run(["record", "new", str(other), "--panel", "12x12in"]) == 2
    assert "holds other files" in _said(capsys)
    assert [p.name for p in other.iterdir()] == ["letter.txt"]


def test_a_size_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["record", "new", str(tmp_path / "r"), "--panel", "twelve"]) == 2
    assert "cannot be read" in _said(capsys)
    assert not (tmp_path / "r").exists()


def test_a_file_that_is_no_picture_does_not_stop_the_others(record: Path, tmp_path: Path) -> None:
    letter = tmp_path / "letter.jpg"
    letter.write_text("no picture")
    assert run(["record", "add", str(record), str(letter), str(tmp_path / "missing.jpg")]) == 2
    assert run(["record", "list", str(record)]) == 0


def test_an_empty_record_has_nothing_to_export(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["record", "export", str(record)]) == 2
    assert "no stages yet" in _said(capsys)
    assert not (record / "export").exists()


@pytest.mark.parametrize("name", ["note.txt", "note.txt/r"])
def test_a_record_in_place_of_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    """There is no --out to advise."""
    (tmp_path / "note.txt").write_text("mine")
    assert run(["record", "new", str(tmp_path / name), "--panel", "12x12in"]) == 2
    assert "Name a new folder for the record" in _said(capsys)
    assert (tmp_path / "note.txt").read_text() == "mine"


def test_an_empty_record_has_no_stage_to_show(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["show", str(record)], ["note", str(record), "1", "--title", "x"]):
        assert run(["record", *words]) == 2
        assert "no stages yet. Add one with" in _said(capsys)


def test_nothing_to_note(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["record", "describe", str(record)]) == 2
    assert "--colour" in _said(capsys)


def test_no_such_stage(record: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store(record, shown(1))
    assert run(["record", "show", str(record), "9"]) == 2
    assert "Give a number from 1 to 1" in _said(capsys)


def test_a_name_that_is_too_long_for_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["record", "new", str(tmp_path / ("x" * 300)), "--panel", "12x12in"]) == 2
    assert "too long" in _said(capsys)
