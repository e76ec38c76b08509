"""`aligncheck lens` and `--lens` as a shell sees them."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from aligncheck.cli.lens import _rulers
from tests.lens.boards import STANDS, camera, photo, plain_sheet, save


@pytest.fixture(scope="module")
def boards(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("boards")
    sheet = plain_sheet(10, 7)
    return [save(photo(sheet, camera(sheet, **s), seed=k), folder / f"b{k}.jpg") for k, s in enumerate(STANDS[:4])]


def test_board_is_written_and_nothing_foreign_replaced(command: Callable, tmp_path: Path) -> None:
    """A PDF; written again over itself, never over a file that is not ours."""
    target = tmp_path / "board.pdf"
    for _ in range(2):
        ran = command("lens", "board", "--paper", "a3", "--out", str(target))
        assert (ran.status, ran.err) == (0, "")
    assert target.read_bytes().startswith(b"%PDF")
    target.write_bytes(b"%PDF-1.4 a letter")
    ran = command("lens", "board", "--out", str(target))
    assert ran.status == 2 and len(ran.err.splitlines()) == 1
    assert target.read_bytes() == b"%PDF-1.4 a letter"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--paper", "a5"), "a5 is not known"),
        (("--ruler", "9,94 cm"), ""),
        (("--ruler", "99.4cm"), "is a slip"),
        (("--ruler", "long"), "is not a length"),
    ],
)
def test_board_with_a_slip(command: Callable, tmp_path: Path, arguments: tuple[str, ...], words: str) -> None:
    ran = command("lens", "board", *arguments, "--out", str(tmp_path / "b.pdf"))
    assert ran.status == (2 if words else 0)
    assert words in ran.err


def test_fit_writes_a_profile(command: Callable, boards: list[Path], tmp_path: Path) -> None:
    """Status 0, the fixed keys in the file, a bad photo told in one line."""
    missing = tmp_path / "gone.jpg"
    ran = command("lens", "fit", *map(str, boards), str(missing), "--out", str(tmp_path / "p.json"))
    assert ran.status == 0
    assert "gone.jpg: there is no such file" in ran.err
    assert "profile from 4 photos" in ran.out
    content = json.loads((tmp_path / "p.json").read_text())
    assert {"width_px", "height_px", "focal_px", "cx_px", "cy_px", "k1", "k2"} <= content.keys()
    assert content["left_out"][0]["file"] == "gone.jpg"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("994mm", "a 100 mm ruler that measures 994 mm is a slip"),
        ("99.4x9.9mm", "measures 9.9 mm is a slip"),
        ("x99mm", "is not a length"),
        ("99x99x99", "is not a length"),
        ("about 99", "is not a length"),
    ],
)
def test_fit_with_a_slip_in_the_ruler(
    command: Callable, boards: list[Path], tmp_path: Path, text: str, words: str
) -> None:
    """One line that names the option, nothing written."""
    ran = command("lens", "fit", *map(str, boards), "--ruler", text, "--out", str(tmp_path / "p.json"))
    assert ran.status == 2 and len(ran.err.splitlines()) == 1
    assert "--ruler" in ran.err and words in ran.err
    assert not (tmp_path / "p.json").exists()


@pytest.mark.parametrize("text", ["100mm", "100x100mm", "10cmx10cm", "10 x 10 cm", "100,0x100,0 mm"])
def test_rulers_in_any_unit(text: str) -> None:
    """One length or two, the unit once or twice."""
    assert _rulers(text) == pytest.approx((100.0, 100.0))


def test_fit_without_boards_writes_nothing(command: Callable, photo: Path, tmp_path: Path) -> None:
    ran = command("lens", "fit", str(photo), "--out", str(tmp_path / "p.json"))
    assert ran.status == 2 and not (tmp_path / "p.json").exists()
    assert "Only 0 photos show a board" in ran.err and len(ran.err.splitlines()) == 1
    # Why not, of the first.
    assert f"{photo.name}: No board found." in ran.err


@pytest.mark.parametrize("text", ["10", "10x", "axb", "2x2", "10x7x3"])
def test_squares_with_a_slip(command: Callable, boards: list[Path], text: str) -> None:
    ran = command("lens", "fit", str(boards[0]), "--squares", text)
    assert ran.status == 2 and "--squares" in ran.err


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"focal_px": -5}, "focal_px = -5 is no lens's"),
        ({"camera": {"model": "T9"}}, "is of a T9"),
        ({"width_px": 1200, "height_px": 1200, "cx_px": 600, "cy_px": 600}, "is cropped otherwise"),
        (None, "is not a lens profile"),
    ],
)
def test_profile_that_does_not_fit(
    command: Callable, photo: Path, tmp_path: Path, change: dict[str, object] | None, words: str
) -> None:
    """One line that says why, exit 2, nothing written."""
    right = {"width_px": 1200, "height_px": 900, "focal_px": 1000, "cx_px": 600, "cy_px": 450, "k1": 0, "k2": 0}
    profile = tmp_path / "p.json"
    profile.write_text("{}" if change is None else json.dumps(right | change))
    ran = command("check", photo, "--panel", "12x12in", "--lens", profile, "--out", tmp_path / "out")
    assert ran.status == 2 and words in ran.err and len(ran.err.splitlines()) == 1
    assert not (tmp_path / "out").exists()
