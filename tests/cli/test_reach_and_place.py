"""`aligncheck reach` and `aligncheck place`, on the sample piece, as a shell would run them."""

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from aligncheck import result_schema

SAMPLES = Path(__file__).parents[2] / "samples"
MARKED, ARRANGED, BACK = (SAMPLES / f"night-daisy-{n}.jpg" for n in ("1-marked", "2-arranged", "6-varnished"))
PANEL = ("--panel", "12x12in")
Command = Callable[..., object]


def truth(photo: Path) -> dict:
    return json.loads(photo.with_suffix(".json").read_text())["centrepiece"]


def test_reach_tells_ring_start_and_every_segment(command: Command, tmp_path: Path) -> None:
    """The verdict first, then where the first row may start; figures and pictures lie in the folder."""
    ran = command("reach", ARRANGED, *PANEL, "--height", "0-8mm", "--clearance", "3mm", "--out", tmp_path)
    assert (ran.status, ran.err) == (0, "")
    lines = ran.out.splitlines()
    assert lines[0] == "Between ring 4 and 5, too close to say"  # the reach lies half a millimetre inside ring 4
    assert any(line.startswith("The first row may start") and "3.0 mm kept free" in line for line in lines)
    assert sum(line.startswith("From ") for line in lines) == 12
    result = json.loads((tmp_path / "night-daisy-2-arranged.json").read_text())
    jsonschema.validate(result, result_schema())
    piece = result["centrepiece"]
    assert result["stage"] == "arranged"
    assert abs(piece["reach_mm"] - truth(ARRANGED)["reach_mm"]) < 1.0
    assert piece["start_radius_mm"] == pytest.approx(piece["reach_mm"] + piece["reach_u95_mm"] + 3.0, abs=1e-3)
    assert len(piece["segment_reaches"]) == 12
    assert {p.suffix for p in tmp_path.iterdir()} == {".json", ".jpg"}
    assert lines[-1] == f"Drawn in {tmp_path / 'night-daisy-2-arranged.overlay.jpg'}"
    assert Path(lines[-1].removeprefix("Drawn in ")).is_file()


def test_place_says_how_to_put_it_back(command: Command, tmp_path: Path) -> None:
    """The words are the opposite of the move; the result file holds the move with its intervals."""
    ran = command("place", BACK, "--like", ARRANGED, *PANEL, "--out", tmp_path)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("Put it back\nMove it ")
    result = json.loads((tmp_path / "night-daisy-6-varnished.json").read_text())
    jsonschema.validate(result, result_schema())
    moved = result["placement"]
    assert abs(moved["dx_mm"] + 2.0) < 1.0
    assert abs(moved["dy_mm"] - 1.8) < 1.0
    assert abs(moved["turn_deg"] - 4.5) < 0.5
    assert ("right" in ran.out) == (moved["dx_mm"] < 0)
    assert "anticlockwise" in ran.out


def test_nothing_on_the_panel_is_one_clear_line(command: Command, tmp_path: Path) -> None:
    """Exit 2, one line with the next step, nothing written; from both commands. Of several photos it names the one."""
    for name, words in (("", ("reach", MARKED)), (f"{MARKED.name}: ", ("place", MARKED, "--like", ARRANGED))):
        ran = command(*words, *PANEL, "--out", tmp_path / "out")
        assert ran.status == 2
        assert ran.out == ""
        assert ran.err == f"{name}Nothing lies on the panel. Lay the centrepiece on it, then photograph it.\n"
        assert not (tmp_path / "out").exists()


def test_an_earlier_photo_without_the_piece_is_named(command: Command, tmp_path: Path) -> None:
    ran = command("place", ARRANGED, "--like", MARKED, *PANEL, "--out", tmp_path / "out")
    assert ran.status == 2
    assert ran.err.startswith("Nothing lies on the panel in night-daisy-1-marked.jpg.")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("height", ["-3mm", "9-4mm", "tall", "500mm"])
def test_a_height_that_cannot_be(command: Command, tmp_path: Path, height: str) -> None:
    """Each slip is one line that names the option."""
    ran = command("reach", ARRANGED, *PANEL, f"--height={height}", "--out", tmp_path / "out")
    assert ran.status == 2
    assert ran.err.count("\n") == 1
    assert "--height" in ran.err and height.removesuffix("mm") in ran.err


def test_a_missing_earlier_photo(command: Command, tmp_path: Path) -> None:
    ran = command("place", ARRANGED, "--like", tmp_path / "gone.jpg", *PANEL, "--out", tmp_path / "out")
    assert ran.status == 2
    assert "gone.jpg: there is no such file" in ran.err
