"""A disk that is really full: a clear line, nothing lost, nothing half-written."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from aligncheck.cli import run
from aligncheck.errors import OutputError
from aligncheck.record import new_record, open_record
from aligncheck.record.store import store
from aligncheck.record.verify import verify
from tests.record.pieces import fake_measure, jpeg, shown


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of two megabytes."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    if not mount or not hasattr(os, "geteuid") or os.geteuid() != 0:
        pytest.skip("only the administrator may mount a small file system")
    done = subprocess.run([mount, "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], capture_output=True)
    if done.returncode:
        pytest.skip(f"no small file system: {done.stderr.decode().strip()}")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=False)


def test_a_full_disk_is_told_and_nothing_is_lost(small_disk: Path) -> None:
    folder = small_disk / "piece"
    new_record(folder, "12x12in")
    stored = []
    with pytest.raises(OutputError, match=r"The disk is full: .* Free some space"):
        for k in range(1000):
            stored.append(store(folder, shown(k, photo=jpeg(k, 200))).stage.photo_sha256)  # noqa: PERF401
    assert len(stored) > 3
    assert [s.photo_sha256 for s in open_record(folder).stages] == stored
    whole, found = verify(folder)
    assert (whole, found) == (len(stored), [])
    # Room again: work goes on.
    shutil.rmtree(folder / "stages" / open_record(folder).stages[0].name)
    assert store(folder, shown(5000)).new


def test_the_command_says_so_in_one_line(
    small_disk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = small_disk / "piece"
    new_record(folder, "12x12in")
    store(folder, shown(1))
    (small_disk / "other.bin").write_bytes(bytes(shutil.disk_usage(small_disk).free - 20_000))
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(jpeg(2, 200))
    monkeypatch.setattr("aligncheck.record.add._checked", fake_measure)
    assert run(["record", "add", str(folder), str(photo)]) == 2
    (line,) = capsys.readouterr().err.strip().splitlines()
    assert "The disk is full" in line and "Free some space" in line
    # An export does not fit either, and leaves nothing half-written.
    assert run(["record", "export", str(folder), "--film-edge", "0"]) == 2
    assert "disk is full" in capsys.readouterr().err
    assert not list(folder.glob("export/*"))
    (small_disk / "other.bin").unlink()
    assert run(["record", "add", str(folder), str(photo)]) == 0
    assert verify(folder) == (2, [])
