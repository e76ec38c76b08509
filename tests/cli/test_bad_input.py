"""Every bad input: exit status 2, one line that says why and what to do, nothing written and nothing removed."""

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from aligncheck import files

Command = Callable[..., object]


@pytest.fixture
def refuses(tmp_path: Path, command: Command) -> Callable[..., str]:
    """Check a photo into an empty folder; the one line, after making sure of status and folder."""

    def call(photo: object, *more: object, panel: str = "12x12in") -> str:
        before = {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
        where = () if "--out" in more else ("--out", tmp_path / "out")
        ran = command("check", photo, "--panel", panel, *more, *where)
        assert ran.status == 2, ran
        assert ran.out == ""
        assert len(ran.err.splitlines()) == 1, ran.err
        assert "Traceback" not in ran.err
        assert "?" not in ran.err.replace('Did you mean "segments"?', "")
        assert ran.err.count(".") >= 1, "a sentence"
        assert {p: p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()} == before
        assert not (tmp_path / "out").exists()
        return ran.err

    return call


def edited(photo: Path, tmp_path: Path, edit: Callable[[np.ndarray], np.ndarray], exif: bool = True) -> Path:
    """The photo's upright pixels after `edit`, with its camera's words."""
    from aligncheck.photo import read_photo

    pixels = edit(read_photo(photo).rgb)
    with Image.open(photo) as image:
        block = image.getexif()
    block[0x0112] = 1
    path = tmp_path / "edited.jpg"
    Image.fromarray(np.ascontiguousarray(pixels)).save(path, quality=92, **({"exif": block} if exif else {}))
    return path


def test_no_file(tmp_path: Path, refuses: Callable) -> None:
    assert "no such file" in refuses(tmp_path / "none.jpg")


def test_a_folder(tmp_path: Path, refuses: Callable) -> None:
    (tmp_path / "photos").mkdir()
    assert "is a folder" in refuses(tmp_path / "photos")


def test_an_empty_file(tmp_path: Path, refuses: Callable) -> None:
    (tmp_path / "e.jpg").touch()
    assert "empty" in refuses(tmp_path / "e.jpg")


def test_not_a_picture(tmp_path: Path, refuses: Callable) -> None:
    (tmp_path / "list.jpg").write_text("chalk, ruler")
    assert "not a picture" in refuses(tmp_path / "list.jpg")


def test_a_truncated_photo(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    (tmp_path / "cut.jpg").write_bytes(photo.read_bytes()[:50_000])
    assert "damaged or cut short" in refuses(tmp_path / "cut.jpg")


def test_no_permission(tmp_path: Path, photo: Path, refuses: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.read_bytes

    def denied(self: Path) -> bytes:
        if self == photo:
            raise PermissionError(13, "Permission denied")
        return real(self)

    monkeypatch.setattr(Path, "read_bytes", denied)
    assert "may not be read" in refuses(photo)


def test_a_bomb(tmp_path: Path, refuses: Callable) -> None:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0))
    (tmp_path / "bomb.png").write_bytes(b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", b"") + chunk(b"IEND", b""))
    assert "megapixels" in refuses(tmp_path / "bomb.png")


def test_64_pixels(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    refuses(edited(photo, tmp_path, lambda p: cv2.resize(p, (64, 64), interpolation=cv2.INTER_AREA)))


def test_no_panel(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    noise = np.random.default_rng(0).normal(120, 12, (1200, 1600, 3)).clip(0, 255).astype(np.uint8)
    refuses(edited(photo, tmp_path, lambda _: noise))


def test_a_panel_cut_off(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    refuses(edited(photo, tmp_path, lambda p: p[: p.shape[0] * 6 // 10]))


def test_two_panels(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    refuses(edited(photo, tmp_path, lambda p: np.concatenate([p, p[:, ::-1]], axis=1), exif=False))


def test_blurred_beyond_use(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    refuses(edited(photo, tmp_path, lambda p: cv2.GaussianBlur(p, (0, 0), 18)))


def test_blown_out(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    refuses(edited(photo, tmp_path, lambda p: np.clip(p.astype(float) * 3 + 150, 0, 255).astype(np.uint8)))


def test_nothing_drawn(bare: Path, refuses: Callable) -> None:
    refuses(bare)


def test_corners_that_cross_or_lie_outside(photo: Path, refuses: Callable) -> None:
    refuses(photo, "--corners", "100,100", "200,200", "300,300", "400,400")
    assert "outside the picture" in refuses(photo, "--corners", "10,10", "90000,10", "900,900", "10,900")
    assert "--corners" in refuses(photo, "--corners", "10", "20", "30", "40")
    assert "one photo" in refuses(photo, "again.jpg", "--corners", "10,10", "900,10", "900,900", "10,900")


def test_a_size_that_contradicts_the_photo(photo: Path, refuses: Callable) -> None:
    refuses(photo, panel="12x24in")


def test_sizes_and_lengths_that_are_none(photo: Path, refuses: Callable) -> None:
    assert "12x12in" in refuses(photo, panel="big")
    assert "Write the unit" in refuses(photo, panel="12x12")
    assert "--depth" in refuses(photo, "--depth", "thick")
    assert "--tolerance" in refuses(photo, "--tolerance", "0")
    assert "--segments" in refuses(photo, "--segments", "1")
    assert "--segments" in refuses(photo, "--segments", "many")


def test_a_layout_with_a_typo(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    layout = tmp_path / "layout.toml"
    layout.write_text("# mine\nsegmants = 12\n")
    assert 'layout.toml, line 2: "segmants"' in refuses(photo, "--layout", layout)
    assert "none.toml cannot be read" in refuses(photo, "--layout", tmp_path / "none.toml")


def test_a_lens_profile_that_is_none(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    (tmp_path / "lens.json").write_text("{}")
    refuses(photo, "--lens", tmp_path / "lens.json")
    refuses(photo, "--lens", tmp_path / "none.json")


def test_an_output_folder_that_is_a_file(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    (tmp_path / "mine").write_text("mine")
    assert "not a folder" in refuses(photo, "--out", tmp_path / "mine")
    assert "not a folder" in refuses(photo, "--out", tmp_path / "mine" / "deeper")


def test_a_table_of_someone_else(tmp_path: Path, photo: Path, refuses: Callable) -> None:
    (tmp_path / "accounts.csv").write_text("rent,900\n")
    line = refuses(photo, "--csv", tmp_path / "accounts.csv")
    assert "accounts.csv is already in" in line and "--csv" in line


@pytest.mark.parametrize(("number", "words"), [(28, "disk is full"), (13, "no permission")])
def test_trouble_with_the_disk(
    photo: Path, refuses: Callable, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    """The third of four files fails: the two before it must go too."""
    calls = []

    def sync(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 3:
            raise OSError(number, "trouble")

    monkeypatch.setattr(files.os, "fsync", sync)
    assert words in refuses(photo)


def test_missing_and_unknown_words_of_the_command(command: Command) -> None:
    for words in (("check",), ("check", "a.jpg"), ("check", "a.jpg", "--panle", "12x12in"), ("chek", "a.jpg")):
        ran = command(*words)
        assert (ran.status, ran.out, len(ran.err.splitlines())) == (2, "", 1), words


def test_a_slip_inside_is_one_line_too(photo: Path, refuses: Callable, monkeypatch: pytest.MonkeyPatch) -> None:
    import aligncheck.checking.one_photo

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr(aligncheck.checking.one_photo, "find_panel", broken)
    assert "something went wrong inside aligncheck" in refuses(photo)


def test_interrupted_by_hand(photo: Path, command: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    import aligncheck.checking.one_photo

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(aligncheck.checking.one_photo, "find_panel", stop)
    ran = command("check", photo, "--panel", "12x12in")
    assert (ran.status, ran.err) == (130, "Stopped.\n")


def test_truncated_jpeg_prints_nothing_of_its_decoder(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], command: Command
) -> None:
    """OpenCV's decoder writes to the process's own standard error, past Python's."""
    buffer = io.BytesIO()
    Image.fromarray(np.random.default_rng(1).integers(0, 255, (600, 800, 3), np.uint8)).save(buffer, "JPEG")
    (tmp_path / "cut.jpg").write_bytes(buffer.getvalue()[:-5000])
    command("check", tmp_path / "cut.jpg", "--panel", "12x12in")
    assert capfd.readouterr().err == ""
