"""A class at once: many phones send photos to one bench; nobody loses one or gets another's, memory stays bounded.

Run: .venv/bin/python -m tests.bench.bench_crowd [--clients 30] [--width 4000]
"""

import argparse
import os
import statistics
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from aligncheck.bench.events import TICK_S
from tests.bench.bench_latency import cpu_s
from tests.bench_page.running import Client, Running, running, small_photo


@dataclass
class Crowd:
    """What came of it."""

    clients: int
    lost: int
    mixed_up: int
    check_s: float
    median_wait_s: float
    most_bytes: int
    cpu_s: float

    @property
    def allowed_wait_s(self) -> float:
        """Half of the queue, each as long as one check alone."""
        return self.clients * self.check_s / 2


def crowd(bench: Running, clients: int, width: int) -> Crowd:
    """Let `clients` send a photo each, all at once; every photo's own bytes tell whose answer comes back.

    Each asks once a second how far it is, which is how often the page tells its phones.
    """
    alone_s = min(_one(bench.client(), small_photo(width, seed=1000 + k))[0] for k in range(2))
    before_cpu_s = _workers_cpu_s(bench)
    waits: dict[int, float] = {}
    wrong: list[int] = []
    most = [0]
    over = threading.Event()
    watcher = threading.Thread(target=_watch_memory, args=(bench, most, over))
    watcher.start()
    photos = [small_photo(width, seed=k) for k in range(clients)]

    def phone(k: int) -> None:
        wait, url, client = _one(bench.client(), photos[k], pause_s=TICK_S)
        waits[k] = wait
        job = bench.desk.jobs.get(url.rsplit("/", 1)[1])
        own = job is not None and bench.desk.jobs.photo(job).read_bytes() == photos[k]
        if not own or job is None or job.place != client.cookies["place"] or not job.answer:
            wrong.append(k)

    threads = [threading.Thread(target=phone, args=(k,)) for k in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    over.set()
    watcher.join()
    lost = clients - len(waits)
    each_cpu_s = (_workers_cpu_s(bench) - before_cpu_s) / clients
    return Crowd(clients, lost, len(wrong), alone_s, statistics.median(waits.values()), most[0], each_cpu_s)


def _workers_cpu_s(bench: Running) -> float:
    """Processor time of all workers so far; flat views are in it."""
    return sum(cpu_s(slot.process.pid) for slot in bench.desk.pool.slots if slot.process is not None)


def _one(client: Client, photo: bytes, pause_s: float = 0.05) -> tuple[float, str, Client]:
    start = time.monotonic()
    url = client.send(photo).json["url"]
    assert client.wait(url, 1800, pause_s)["state"] == "done"
    return time.monotonic() - start, url, client


def _watch_memory(bench: Running, most: list[int], over: threading.Event) -> None:
    """The most that page and workers hold together: what each has of its own, and once what they share.

    Told from counters alone; summing up every page's share would hold the workers up.
    """
    while not over.wait(0.2):
        pids = [os.getpid(), *(s.process.pid for s in bench.desk.pool.slots if s.process is not None)]
        held = [_held_bytes(pid) for pid in pids]
        most[0] = max(most[0], sum(own for own, _ in held) + max(shared for _, shared in held))


def _held_bytes(pid: int) -> tuple[int, int]:
    """What a process has in memory of its own, and what it may share with others."""
    try:
        _, resident, shared, *_ = Path(f"/proc/{pid}/statm").read_text().split()
    except OSError:
        return 0, 0
    page = os.sysconf("SC_PAGE_SIZE")
    return (int(resident) - int(shared)) * page, int(shared) * page


def main() -> None:
    """Run it and print one line a figure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--clients", type=int, default=30)
    parser.add_argument("--width", type=int, default=4000)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, running(Path(folder), workers=2) as bench:
        came = crowd(bench, chosen.clients, chosen.width)
    print(f"clients              {came.clients}")
    print(f"lost                 {came.lost}")
    print(f"another's answer     {came.mixed_up}")
    print(f"one photo alone      {came.check_s:.2f} s")
    print(f"median wait          {came.median_wait_s:.1f} s (allowed {came.allowed_wait_s:.1f} s)")
    print(f"processor time       {came.cpu_s:.2f} s a photo")
    print(f"memory at most       {came.most_bytes / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
