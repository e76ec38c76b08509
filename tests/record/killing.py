"""Adds that are killed with signal 9 at random moments; used by the short test and by the bench.

Every child adds photos one after the other and says through a pipe which are stored; it is killed while it does so.
"""

import os
import random
import signal
import sqlite3
import time
from dataclasses import dataclass
from pathlib import Path

from aligncheck.record import new_record, open_record
from aligncheck.record.index import INDEX_FILE
from aligncheck.record.stage import Kept
from aligncheck.record.store import store
from aligncheck.record.verify import verify
from tests.record.pieces import jpeg, shown


@dataclass
class Tally:
    """What became of the kills."""

    kills: int = 0
    reported: int = 0
    stages: int = 0
    left_behind: int = 0


def kill_adds(folder: Path, kills: int, seed: int, side: int = 96) -> Tally:
    """Kill `kills` runs that add photos of `side` pixels; AssertionError where something reported is lost or halved."""
    new_record(folder, "12x12in", name="Killed")
    rng = random.Random(seed)  # noqa: S311 - chance for a test, not for a secret
    tally, reported, number = Tally(), set[str](), 0
    begun = time.monotonic()
    store(folder, shown(0, photo=jpeg(0, side)))
    # Up to a few adds after the start, however slow this machine is.
    longest_s = 5 * (time.monotonic() - begun)
    while tally.kills < kills:
        number += 1000
        told, waited = _run_and_kill(folder, number, side, rng.uniform(0.0, longest_s))
        reported |= told
        tally.kills += waited
        _look(folder, reported)
    tally.reported = len(reported)
    _, found = verify(folder)
    tally.left_behind = sum(f.kind == "left_behind" for f in found)
    assert all(f.kind == "left_behind" for f in found), found
    # The next add clears away what was left, and then there is nothing to say.
    store(folder, shown(999_999))
    whole, found = verify(folder)
    assert found == [], found
    with sqlite3.connect(folder / INDEX_FILE) as link:
        assert link.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        in_index = link.execute("SELECT count(*) FROM stage").fetchone()[0]
    link.close()
    assert in_index == whole
    tally.stages = whole
    return tally


def _run_and_kill(folder: Path, number: int, side: int, after_s: float) -> tuple[set[str], int]:
    """Hashes that a child reported stored before it was killed, and whether it was."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            for k in range(number, number + 1000):
                one = shown(k, photo=jpeg(k, side))
                store(folder, one)
                os.write(writing, Kept.of(one.photo).sha256.encode())
        finally:
            os._exit(0)
    os.close(writing)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    told = b""
    while part := os.read(reading, 65536):
        told += part
    os.close(reading)
    _, status = os.waitpid(child, 0)
    # A write of 64 bytes into a pipe is whole or not at all.
    return {told[i : i + 64].decode() for i in range(0, len(told), 64)}, int(os.WIFSIGNALED(status))


def _look(folder: Path, reported: set[str]) -> None:
    """Everything reported is there, and everything there is whole."""
    record = open_record(folder)
    assert not record.damaged, record.damaged
    assert reported <= {s.photo_sha256 for s in record.stages}
    for stage in record.stages[-5:]:
        for name, kept in stage.files.items():
            assert Kept.of(record.path(stage, name).read_bytes()) == kept, name
