"""Stages are kept whole, once, in order, under plain names, and the index only follows."""

import json
import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from aligncheck.errors import InputError, OutputError, PhotoError
from aligncheck.record import add_photo, find_stage, new_record, open_record
from aligncheck.record.index import INDEX_FILE
from aligncheck.record.record import STAGES
from aligncheck.record.remove import remove_stage
from aligncheck.record.store import change, store
from aligncheck.record.verify import verify
from tests.record.pieces import fake_measure, jpeg, shown

NASTY = (
    "blue/green\\red: a*b?",
    "🌼 daisy 🌼",
    "x" * 300,
    "\u202eevil\u202c שלום عليكم",
    "..",
    "CON",
    'a "quoted" <b>name</b>',
    "",
)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    folder = tmp_path / "piece"
    new_record(folder, "12x12in", name="Night Daisy")
    return folder


def test_a_stage_is_found_again_with_its_original_byte_for_byte(record: Path) -> None:
    one = shown(1, taken="2026-05-12T09:31:00")
    added = store(record, one, title="Marked", note="north light")
    assert added.new
    again = open_record(record)
    stage = again.stages[0]
    assert (stage.title, stage.note, stage.name) == ("Marked", "north light", "2026-05-12-0931-marked")
    assert again.path(stage, stage.photo).read_bytes() == one.photo
    assert stage.original_name == "IMG_0001.jpg"
    assert verify(record) == (1, [])


def test_the_same_bytes_are_kept_once(record: Path) -> None:
    first = store(record, shown(1))
    second = store(record, shown(1), title="another title")
    assert not second.new
    assert second.stage.name == first.stage.name
    assert len(open_record(record).stages) == 1


def test_two_photos_of_one_minute_and_title_both_find_a_name(record: Path) -> None:
    names = [store(record, shown(k, taken="2026-05-12T09:31:00")).stage.name for k in range(3)]
    assert names == ["2026-05-12-0931-marked", "2026-05-12-0931-marked-2", "2026-05-12-0931-marked-3"]
    assert verify(record) == (3, [])


def test_stages_stand_in_the_order_in_which_they_were_photographed(record: Path) -> None:
    for seed, taken in ((1, "2026-05-14T10:00:00"), (2, "2026-05-12T10:00:00"), (3, "2026-05-13T10:00:00")):
        store(record, shown(seed, taken=taken))
    assert [s.moment[8:10] for s in open_record(record).stages] == ["12", "13", "14"]


def test_a_clock_set_back_is_told_and_does_not_mix_up_the_order(record: Path) -> None:
    store(record, shown(1), now=datetime(2026, 5, 12, 10, tzinfo=UTC))
    later = store(record, shown(2), now=datetime(2020, 1, 1, tzinfo=UTC))
    assert [n.code for n in later.notes] == ["clock_behind"]
    assert "2026-05-12" in later.notes[0].text
    assert [s.original_name for s in open_record(record).stages] == ["IMG_0001.jpg", "IMG_0002.jpg"]


@pytest.mark.parametrize("title", NASTY)
def test_any_title_is_kept_as_it_is_under_a_name_that_every_file_system_takes(record: Path, title: str) -> None:
    stage = store(record, shown(1, taken="2026-05-12T09:31:00"), title=title).stage
    assert stage.title == (title.strip() or "Marked")
    assert len(stage.name.encode()) < 100
    assert not set(stage.name) & set('/\\:*?"<>|\u202e\u202c')
    assert open_record(record).stages[0].title == stage.title
    assert verify(record) == (1, [])


@pytest.mark.parametrize("name", [n for n in NASTY if n])
def test_any_name_of_a_piece_comes_back(tmp_path: Path, name: str) -> None:
    new_record(tmp_path / "r", "12x12in", name=name, about=f"about {name}\twith\ttabs\x7f")
    piece = open_record(tmp_path / "r").piece
    assert piece.name == name.strip()
    assert piece.about == f"about {name}\twith\ttabs\x7f"


def test_the_index_is_made_anew_from_the_folders(record: Path) -> None:
    for k in range(3):
        store(record, shown(k))
    before = [s.name for s in open_record(record).stages]
    (record / INDEX_FILE).unlink()
    assert [s.name for s in open_record(record).stages] == before
    with sqlite3.connect(record / INDEX_FILE) as link:
        assert link.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert link.execute("SELECT count(*) FROM stage").fetchone() == (3,)
    link.close()


def test_a_damaged_index_hinders_neither_reading_nor_adding(record: Path) -> None:
    store(record, shown(1))
    (record / INDEX_FILE).write_bytes(b"no database at all" * 100)
    assert len(open_record(record).stages) == 1
    assert store(record, shown(2)).new
    assert not store(record, shown(1)).new
    assert verify(record) == (2, [])
    assert list(record.glob("index-damaged-*")), "the damaged file is put aside, not thrown away"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the administrator may write anywhere")
def test_a_record_that_may_not_be_written_is_read(record: Path) -> None:
    store(record, shown(1))
    record.chmod(0o500)
    try:
        assert len(open_record(record).stages) == 1
    finally:
        record.chmod(0o700)


def test_a_stage_that_a_killed_run_put_in_place_but_not_into_the_index_is_there(record: Path) -> None:
    kept = store(record, shown(1)).stage
    with sqlite3.connect(record / INDEX_FILE) as link:
        link.execute("DELETE FROM stage")
    link.close()
    assert not store(record, shown(1)).new
    assert [s.name for s in open_record(record).stages] == [kept.name]


def test_a_full_disk_adds_nothing_and_leaves_nothing(record: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store(record, shown(1))
    count, real = [0], os.fsync

    def full(handle: int) -> None:
        count[0] += 1
        if count[0] == 3:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="disk is full"):
        store(record, shown(2))
    monkeypatch.undo()
    assert len(open_record(record).stages) == 1
    assert [p.name for p in (record / STAGES).iterdir()] == [open_record(record).stages[0].name]


def test_a_photo_that_cannot_be_measured_is_kept_and_marked_so(record: Path) -> None:
    view = {".view.jpg": jpeg(3)}
    one = shown(1, measured=False, kind="refused", headline="Not measured", second="No panel found.", files=view)
    store(record, one)
    assert not open_record(record).stages[0].measured
    assert open_record(record).stages[0].second == "No panel found."
    assert verify(record) == (1, [])


def test_notes_and_titles_can_be_changed(record: Path) -> None:
    from dataclasses import replace

    stage = store(record, shown(1)).stage
    change(record, replace(stage, title="Bare", note="first light"))
    again = open_record(record).stages[0]
    assert (again.title, again.note, again.name) == ("Bare", "first light", stage.name)
    assert verify(record) == (1, [])


def test_a_removed_stage_is_moved_aside_not_deleted(record: Path) -> None:
    one = shown(1)
    stage = store(record, one).stage
    kept = remove_stage(record, stage)
    assert kept is not None
    assert (kept / stage.photo).read_bytes() == one.photo
    assert open_record(record).stages == ()
    assert store(record, one).new


def test_what_the_program_drew_itself_is_no_photo_of_the_piece(record: Path, tmp_path: Path) -> None:
    stage = store(record, shown(1)).stage
    overlay = open_record(record).path(stage, stage.name + ".overlay.jpg")
    with pytest.raises(PhotoError, match="made by aligncheck"):
        add_photo(record, overlay, measure=fake_measure)


def test_adding_twice_does_not_check_twice(record: Path, tmp_path: Path) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(jpeg(1))
    assert add_photo(record, photo, measure=fake_measure).new

    def never(*_: object, **__: object) -> None:
        raise AssertionError("checked again")

    assert not add_photo(record, photo, measure=never).new  # type: ignore[arg-type]


def test_a_date_that_is_none_is_refused(record: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="not a date"):
        add_photo(record, tmp_path / "photo.jpg", taken="last Tuesday", measure=fake_measure)


def test_stages_are_found_by_number_name_and_title(record: Path) -> None:
    stage = store(record, shown(1), title="Bare").stage
    opened = open_record(record)
    assert {find_stage(opened, w).name for w in ("1", stage.name, "Bare")} == {stage.name}


def test_a_stage_file_of_an_older_version_lacks_keys_and_is_read(record: Path) -> None:
    stage = store(record, shown(1)).stage
    path = record / STAGES / stage.name / "stage.json"
    content = json.loads(path.read_bytes())
    for key in ("words", "stage", "note", "seal"):
        del content[key]
    path.write_text(json.dumps(content))
    assert open_record(record).stages[0].words == ()
