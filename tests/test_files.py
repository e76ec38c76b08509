"""Files are written whole or not at all, and never over what is not ours."""

import errno
import os
from pathlib import Path

import pytest

from aligncheck import files
from aligncheck.errors import OutputError
from aligncheck.files import write_all


def everything(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def ours(path: Path) -> bool:
    return path.read_bytes().startswith(b"ours")


def test_all_files_are_written_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_all({tmp_path / "new" / "a": b"ours 1", tmp_path / "new" / "b": b"ours 2"}, ours)
    assert everything(tmp_path) == {"new/a": b"ours 1", "new/b": b"ours 2"}
    write_all({tmp_path / "new" / "a": b"ours 3"}, ours)
    assert everything(tmp_path) == {"new/a": b"ours 3", "new/b": b"ours 2"}


def test_a_file_that_is_not_ours_stops_all(tmp_path: Path) -> None:
    (tmp_path / "b").write_bytes(b"hers")
    with pytest.raises(OutputError, match=r"b is already in .* not made by aligncheck") as caught:
        write_all({tmp_path / "a": b"ours", tmp_path / "b": b"ours"}, ours)
    assert caught.value.code == "not_ours"
    assert everything(tmp_path) == {"b": b"hers"}


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (errno.ENOSPC, "disk_full"),
        (errno.EACCES, "out_not_writable"),
        (errno.EROFS, "out_not_writable"),
        (errno.EIO, "not_written"),
    ],
)
def test_trouble_while_writing_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, code: str
) -> None:
    """The second of three files fails when half of it is written."""
    (tmp_path / "a").write_bytes(b"ours, old")
    before = everything(tmp_path)
    calls = []

    def sync(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(number, os.strerror(number))

    monkeypatch.setattr(files.os, "fsync", sync)
    with pytest.raises(OutputError) as caught:
        write_all({tmp_path / "a": b"ours", tmp_path / "deep" / "er" / "b": b"ours", tmp_path / "c": b"ours"}, ours)
    assert caught.value.code == code
    assert "?" not in str(caught.value)
    assert everything(tmp_path) == before
    assert not (tmp_path / "deep").exists()


def test_a_file_in_place_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"hers")
    with pytest.raises(OutputError, match="not a folder") as caught:
        write_all({tmp_path / "out" / "a": b"ours"}, ours)
    assert caught.value.code == "out_not_a_folder"


def test_a_full_disk_is_told(tmp_path: Path) -> None:
    """/dev/full answers every write as a full disk does."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    with pytest.raises(OSError, match="No space") as caught:
        Path("/dev/full").write_bytes(b"x")
    assert "Free some space" in str(files.output_error(caught.value, tmp_path / "a"))


def test_a_name_too_long_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as caught:
        write_all({tmp_path / ("n" * 300): b"ours"}, ours)
    assert caught.value.code == "name_too_long"
    assert everything(tmp_path) == {}
