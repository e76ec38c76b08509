"""`aligncheck sheet` and `aligncheck dots`: what they write and say, and every slip in one line."""

import json
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest

Command = Callable[..., object]


@pytest.mark.parametrize("paper", ["a4", "a3", "letter", "one"])
def test_layout_sheet(tmp_path: Path, command: Command, paper: str) -> None:
    """A PDF that pdfium opens; asked for again, it is replaced, being ours."""
    target = tmp_path / "layout.pdf"
    for _ in range(2):
        ran = command(
            "sheet",
            "layout",
            "--panel",
            "12x12in",
            "--segments",
            12,
            "--pitch",
            "1/2in",
            "--paper",
            paper,
            "--out",
            target,
        )
        assert ran.status == 0, ran
        assert "Print it at 100 %" in ran.out
    pages = pypdfium2.PdfDocument(target)
    assert len(pages) == {"a4": 4, "a3": 2, "letter": 4, "one": 1}[paper]


def test_start_sheet_from_a_result(tmp_path: Path, command: Command) -> None:
    """The radius that a photo with the piece on it told, the spokes as they stand."""
    result = {
        "schema": "aligncheck-result-1",
        "segments": 8,
        "rotation_deg": 3.0,
        "centrepiece": {"start_radius_mm": 41.63},
    }
    (tmp_path / "a.json").write_text(json.dumps(result))
    ran = command("sheet", "start", "--check", tmp_path / "a.json", "--out", tmp_path / "s.pdf")
    assert ran.status == 0, ran
    words = pypdfium2.PdfDocument(tmp_path / "s.pdf")[0].get_textpage().get_text_range()
    assert "radius 41.6 mm" in words


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["sheet"], "Give --panel"),
        (["sheet", "poster"], "poster is not a sheet"),
        (["sheet", "--panel", "12x12in"], "nothing to draw"),
        (["sheet", "--panel", "12x12in", "--segments", "1"], "not a number of spokes"),
        (["sheet", "--panel", "12x12in", "--segments", "8", "--rings", "4"], "--pitch with it"),
        (["sheet", "--panel", "12x12in", "--pitch", "20mm", "--rings", "9"], "does not fit"),
        (["sheet", "--panel", "12x12in", "--segments", "8", "--rotation", "north"], "not a number of degrees"),
        (["sheet", "--panel", "12x12in", "--segments", "8", "--paper", "a9"], "a9 is not known"),
        (["sheet", "--panel", "12x12in", "--segments", "8", "--ruler", "40mm"], "a slip"),
        (["sheet", "--panel", "12x12in", "--segments", "8", "--pencil", "30mm"], "no width of a pencil"),
        (["sheet", "start"], "Where does the first row start"),
        (["sheet", "start", "--radius", "1mm"], "from 5 mm"),
        (["sheet", "corrections"], "with --check"),
        (["sheet", "corrections", "--check", "none.json"], "none.json cannot be read"),
        (["sheet", "corrections", "--check", "list.json"], "not the result of a check"),
        (["sheet", "corrections", "--check", "empty.json"], "does not hold what the sheet needs"),
        (["dots"], "Give --radius and --size"),
        (["dots", "--radius", "60mm"], "Give --radius and --size"),
        (["dots", "--radius", "60mm", "--size", "4mm", "--from", "3mm"], "Give --radius and --size"),
        (["dots", "--radius", "10mm", "--size", "30mm"], "too large"),
        (["dots", "--radius", "60mm", "--size", "4mm", "--gap=-1mm"], "not a gap"),
        (["dots", "--radius", "60mm", "--size", "dot"], "not a length"),
        (["dots", "--radius", "60mm", "--size", "4mm", "--segments", "500"], "not a number of spokes"),
        (["dots", "--from", "6mm", "--to", "2mm", "--length", "5mm"], "Make the line longer"),
        (["dots", "--from", "6mm", "--to", "2mm", "--length", "50mm", "--count", "one"], "not a number of walked dots"),
    ],
)
def test_slips(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Command, words: list[str], told: str) -> None:
    """Exit status 2, one line that says what to do, nothing written."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.json").write_text("[]")
    (tmp_path / "empty.json").write_text('{"schema": "aligncheck-result-1"}')
    before = sorted(p.name for p in tmp_path.iterdir())
    ran = command(*words)
    assert (ran.status, ran.out) == (2, "")
    assert told in ran.err
    assert len(ran.err.splitlines()) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == before


@pytest.mark.parametrize("name", ["", "new/"])
def test_a_folder_takes_the_sheet_under_its_usual_name(tmp_path: Path, command: Command, name: str) -> None:
    ran = command("sheet", "start", "--radius", "40mm", "--out", f"{tmp_path}/{name}")
    assert ran.status == 0
    assert (tmp_path / name / "start-sheet.pdf").read_bytes().startswith(b"%PDF")
    assert command("lens", "board", "--out", tmp_path).status == 0
    assert (tmp_path / "lens-board-a4.pdf").is_file()


def test_foreign_pdf_is_left_alone(tmp_path: Path, command: Command) -> None:
    target = tmp_path / "mine.pdf"
    target.write_bytes(b"%PDF-1.4 mine")
    ran = command("sheet", "start", "--radius", "40mm", "--out", target)
    assert ran.status == 2
    assert "was not made by aligncheck" in ran.err
    assert target.read_bytes() == b"%PDF-1.4 mine"


def test_dots_say_the_count(command: Command) -> None:
    ran = command("dots", "--radius", "60mm", "--size", "4mm", "--gap", "1mm", "--segments", 12)
    assert ran.status == 0
    assert "72 dots, 1.23 mm apart" in ran.out
    assert "84 dots, 0.49 mm apart" in ran.out
    assert "crochet hook G-6 (4 mm)" in ran.out


def test_walked_dots_are_listed(command: Command) -> None:
    ran = command("dots", "--from", "6mm", "--to", "2mm", "--length", "50mm", "--gap", "0.5mm")
    assert ran.status == 0
    assert ran.out.startswith("12 dots from 6 to 2 mm fill 50 mm")
    assert "1: 6.00 mm, its middle at 3.0 mm (crochet hook J-10)" in ran.out
