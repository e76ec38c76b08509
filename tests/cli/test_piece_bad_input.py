"""What `reach` and `place` cannot answer: each is one line that names the cause and the next step, nothing written."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.render import Piece, Scene, Slab, by_hand, flower, photograph

SAMPLES = Path(__file__).parents[2] / "samples"
ARRANGED, BACK = (SAMPLES / f"night-daisy-{n}.jpg" for n in ("2-arranged", "6-varnished"))
PANEL = ("--panel", "12x12in")
Command = Callable[..., object]


def save(folder: Path, name: str, scene: Scene, *pieces: Piece) -> Path:
    drawing = replace(by_hand(4, segments=8, rings=4, pitch_mm=25.4, ghosts=0), pieces=pieces)
    return photograph(drawing, scene, 4).save(folder / name)


def told(command: Command, folder: Path, *words: object) -> str:
    """The one line that the command says; it wrote nothing."""
    ran = command(*words, *PANEL, "--out", folder / "out")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
    assert not (folder / "out").exists()
    return ran.err


def test_a_hand_in_the_picture(command: Command, tmp_path: Path, scene: Scene) -> None:
    """A hand that reaches over the right side onto the middle."""
    hand = Slab((110.0, 15.0), (190.0, 62.0), 4.0, "#d8a58a", over_panel=True)
    table = replace(scene.table, slabs=(*scene.table.slabs, hand))
    photo = save(tmp_path, "hand.jpg", replace(scene, table=table))
    line = told(command, tmp_path, "reach", photo)
    assert "right side" in line
    assert "hand" in line


def test_a_piece_over_a_corner(command: Command, tmp_path: Path, scene: Scene) -> None:
    """A piece laid over a corner of the panel has no reach on it."""
    photo = save(tmp_path, "corner.jpg", scene, flower((132.0, 128.0), 46.0, height_mm=3.0))
    line = told(command, tmp_path, "reach", photo)
    assert "bottom right corner" in line


def test_an_earlier_photo_of_another_panel(command: Command, tmp_path: Path, scene: Scene) -> None:
    """Other marks, another panel: told by the earlier photo's name."""
    other = save(tmp_path, "other.jpg", scene, flower((1.0, -2.0), 38.0, petals=6, height_mm=4.0))
    line = told(command, tmp_path, "place", ARRANGED, "--like", other)
    assert line.startswith("other.jpg shows another panel")


@pytest.mark.parametrize("words", [("--like", ""), ("--like", "gone.jpg")], ids=["no name", "no such file"])
def test_an_earlier_photo_that_is_none(command: Command, tmp_path: Path, words: tuple[str, str]) -> None:
    assert told(command, tmp_path, "place", ARRANGED, *words)


def test_further_photos_take_part(command: Command, tmp_path: Path) -> None:
    """Further photos on either side are read and taken along; here the same ones again, which change nothing much."""
    ran = command("place", BACK, BACK, "--like", ARRANGED, "--like", ARRANGED, *PANEL, "--out", tmp_path)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("Put it back\nMove it ")
    assert (tmp_path / f"{BACK.stem}.json").exists()
