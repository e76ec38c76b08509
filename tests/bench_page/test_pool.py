"""Workers die, hang, and are stopped; the photo's answer comes all the same, or a plain line."""

import os
import signal
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from aligncheck.bench import frames
from aligncheck.bench.pool import Pool, PoolFull
from tests.bench_page.running import running, small_photo


class Told:
    """What a pool tells, by task."""

    def __init__(self) -> None:
        self.by_task: dict[str, list[str]] = {}
        self.lock = threading.Lock()

    def __call__(self, task: str, message: dict[str, Any], _: dict[str, bytes]) -> None:
        with self.lock:
            self.by_task.setdefault(task, []).append(str(message.get("code") or message["event"]))

    def wait(self, task: str, last: set[str], seconds: float = 180.0) -> list[str]:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            with self.lock:
                if last & set(self.by_task.get(task, ())):
                    return self.by_task[task]
            time.sleep(0.02)
        raise AssertionError(self.by_task)


def task(path: Path) -> dict[str, Any]:
    return {"kind": "measure", "path": str(path), "panel": "12x12in"}


def test_killed_worker_is_replaced_and_the_photo_answered(tmp_path: Path) -> None:
    """Killed while it measures: a new worker measures the photo from the start."""
    with running(tmp_path) as bench:
        client = bench.client()
        url = client.send(small_photo()).json["url"]
        slot = bench.desk.pool.slots[0]
        until = time.monotonic() + 120
        while client.get(f"{url}/state").json["state"] != "measuring":
            assert time.monotonic() < until
        first = slot.process.pid
        os.kill(first, signal.SIGKILL)
        assert client.wait(url)["state"] == "done"
        assert slot.process.pid != first


def test_photo_that_kills_twice_is_given_up(tmp_path: Path) -> None:
    """Two attempts, then one plain line; the next photo finds a worker again."""
    with running(tmp_path) as bench:
        client = bench.client()
        url = client.send(small_photo()).json["url"]
        slot = bench.desk.pool.slots[0]
        killed: set[int] = set()
        until = time.monotonic() + 180
        while client.get(f"{url}/state").json["state"] in ("waiting", "measuring") and time.monotonic() < until:
            process = slot.process
            if slot.task is not None and process is not None and process.pid not in killed:
                killed.add(process.pid)
                process.kill()
            time.sleep(0.01)
        state = client.get(f"{url}/state").json
        assert (state["state"], state["headline"]) == ("failed", "No answer")
        page = client.get(url).text
        assert "Try again" in page and "the photo is kept" in page
        assert client.post(f"{url}/again", {}).status == 303
        assert client.wait(url)["state"] == "done"


def test_pool_bounds_time_and_number(tmp_path: Path) -> None:
    """More than the queue takes is turned away; what takes too long is ended; what is stopped stops."""
    told = Told()
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(small_photo())
    pool = Pool(1, 1_500_000_000, 0.05, 3, told)
    try:
        for name in ("a", "b", "c"):
            pool.submit(name, task(photo))
        with pytest.raises(PoolFull):
            pool.submit("d", task(photo))
        pool.stop("b")
        assert pool.ahead("c") == 2
        pool.start()
        assert told.wait("a", {"too_slow"})[-1] == "too_slow"
        assert told.wait("b", {"stopped"}) == ["stopped"]
        assert told.wait("c", {"too_slow"})[-1] == "too_slow"
        assert pool.busy == 0
    finally:
        pool.close()


def test_memory_is_bounded(tmp_path: Path) -> None:
    """A worker that may use too little says so, or dies and is told of; nobody waits for ever."""
    told = Told()
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(small_photo(8000))
    pool = Pool(1, 260_000_000, 60, 9, told)
    try:
        pool.submit("a", task(photo))
        pool.start()
        assert {"out_of_memory", "worker_died"} & set(told.wait("a", {"end", "worker_died"}))
    finally:
        pool.close()


def test_worker_cannot_write_files(tmp_path: Path) -> None:
    """The process that opens strangers' pictures writes nothing to the disk."""
    import multiprocessing

    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    target = tmp_path / "written"
    process = context.Process(target=_try_to_write, args=(theirs, str(target)))
    process.start()
    process.join(120)
    assert ours.poll(1)
    assert frames.receive(ours)[0] == {"written": False}
    assert not target.exists() or target.stat().st_size == 0


def _try_to_write(link: Any, target: str) -> None:
    from aligncheck.bench.limits import limit_resources

    limit_resources(500_000_000)
    try:
        Path(target).write_bytes(b"x" * 10_000)
        written = True
    except OSError:
        written = False
    frames.send(link, {"written": written})


def test_frames_are_no_pickles() -> None:
    """What is not JSON of the right shape ends the connection."""
    import multiprocessing
    import pickle

    ours, theirs = multiprocessing.Pipe()
    frames.send(theirs, {"event": "x"}, {"a": b"1", "b": b""})
    assert frames.receive(ours) == ({"event": "x"}, {"a": b"1", "b": b""})
    for junk in (
        pickle.dumps({"message": {}, "blobs": []}),
        b"[]",
        b"{}",
        b'{"message": 1, "blobs": []}',
        b"[" * 99_999,
    ):
        theirs.send_bytes(junk)
        with pytest.raises(EOFError):
            frames.receive(ours)
    ours.close()
    theirs.close()
