"""Verify names what is damaged, missing or does not belong; repair loses nothing."""

from pathlib import Path

import pytest

from aligncheck.record import new_record, open_record
from aligncheck.record.index import INDEX_FILE
from aligncheck.record.record import STAGES
from aligncheck.record.stage import Stage
from aligncheck.record.store import store
from aligncheck.record.verify import verify
from tests.record.pieces import shown


@pytest.fixture
def record(tmp_path: Path) -> Path:
    folder = tmp_path / "piece"
    new_record(folder, "12x12in")
    for k in range(3):
        store(folder, shown(k, taken=f"2026-05-1{k}T10:00:00"))
    return folder


def _first(record: Path) -> tuple[Stage, Path]:
    stage = open_record(record).stages[0]
    return stage, record / STAGES / stage.name


def test_one_changed_byte_is_found_and_named(record: Path) -> None:
    stage, home = _first(record)
    photo = home / stage.photo
    content = bytearray(photo.read_bytes())
    content[len(content) // 2] ^= 1
    photo.write_bytes(content)
    whole, found = verify(record)
    assert whole == 2
    assert [(f.kind, f.path) for f in found] == [("damaged", f"stages/{stage.name}/{stage.photo}")]
    assert "Bring it back from a copy" in found[0].text
    assert not found[0].harmless


def test_a_missing_file_and_a_missing_stage_are_named(record: Path) -> None:
    stage, home = _first(record)
    (home / f"{stage.name}.flat.jpg").unlink()
    gone = open_record(record).stages[1]
    (record / STAGES / gone.name).rename(record / "elsewhere")
    kinds = {(f.kind, f.path) for f in verify(record)[1]}
    assert kinds == {("missing", f"stages/{stage.name}/{stage.name}.flat.jpg"), ("gone", f"stages/{gone.name}")}
    assert [s.present for s in open_record(record).stages] == [True, False, True]
    # Repair does not forget what is gone: it may come back.
    verify(record, repair=True)
    assert ("gone", f"stages/{gone.name}") in {(f.kind, f.path) for f in verify(record)[1]}


def test_repair_brings_a_destroyed_stage_file_back_from_the_index(record: Path) -> None:
    stage, home = _first(record)
    before = (home / "stage.json").read_bytes()
    (home / "stage.json").write_bytes(b"\0" * 100)
    assert [f.kind for f in verify(record)[1]] == ["unreadable"]
    assert verify(record, repair=True)[1][0].mended
    assert (home / "stage.json").read_bytes() == before
    assert (home / "damaged-stage.json").read_bytes() == b"\0" * 100
    assert all(f.harmless for f in verify(record)[1])
    assert stage in open_record(record).stages


def test_repair_makes_a_damaged_index_anew(record: Path) -> None:
    names = [s.name for s in open_record(record).stages]
    content = bytearray((record / INDEX_FILE).read_bytes())
    content[: len(content) // 2] = b"x" * (len(content) // 2)
    (record / INDEX_FILE).write_bytes(content)
    whole, found = verify(record)
    assert (whole, [f.kind for f in found]) == (3, ["index"])
    verify(record, repair=True)
    assert verify(record) == (3, [])
    assert [s.name for s in open_record(record).stages] == names


def test_conflict_copies_of_a_sync_program_are_noticed_and_left_alone(record: Path) -> None:
    _stage, home = _first(record)
    copy = home / "stage (Rosalba's conflicted copy 2026-05-12).json"
    copy.write_bytes((home / "stage.json").read_bytes())
    other = record / "index (conflicted copy).sqlite"
    other.write_bytes((record / INDEX_FILE).read_bytes())
    found = verify(record, repair=True)[1]
    assert sorted(f.kind for f in found) == ["conflict", "conflict"]
    assert all(f.harmless for f in found)
    assert copy.exists()
    assert other.exists()
    assert len(open_record(record).stages) == 3


def test_a_folder_copied_by_hand_is_told_as_the_same_photo(record: Path) -> None:
    import shutil

    _stage, home = _first(record)
    shutil.copytree(home, home.with_name("2030-01-01-copy"))
    kinds = [f.kind for f in verify(record)[1]]
    assert "twice" in kinds


def test_what_a_stopped_run_left_is_told_and_cleared_by_repair(record: Path) -> None:
    import socket

    host = "".join(c for c in socket.gethostname() if c.isalnum())
    left = record / STAGES / f".adding-{host}-99999999-abcd"
    left.mkdir()
    (left / "half.jpg").write_bytes(b"half")
    assert [f.kind for f in verify(record)[1]] == ["left_behind"]
    verify(record, repair=True)
    assert not left.exists()


def test_a_renamed_stage_folder_is_still_read(record: Path) -> None:
    _stage, home = _first(record)
    home.rename(home.with_name("my own name"))
    names = [s.name for s in open_record(record).stages if s.present]
    assert "my own name" in names


def test_what_another_computer_is_writing_is_left_until_it_is_old(record: Path) -> None:
    """Two computers on one synced folder: neither takes the other's half-written stage for rubbish."""
    import os
    import time

    other = record / STAGES / ".adding-studio2-4711-abcd"
    other.mkdir()
    store(record, shown(50))
    assert other.exists()
    assert verify(record) == (4, [])
    long_ago = time.time() - 2 * 86_400
    os.utime(other, (long_ago, long_ago))
    assert [f.kind for f in verify(record)[1]] == ["left_behind"]
    store(record, shown(51))
    assert not other.exists()
