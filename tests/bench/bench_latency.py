"""From a photo posted to its answer shown, against the check itself, in one run and with the same processors.

Run: .venv/bin/python -m tests.bench.bench_latency [PHOTO...] (by default the sample)
"""

import multiprocessing
import os
import statistics
import sys
import tempfile
import time
from multiprocessing.connection import Connection
from pathlib import Path

from tests.bench_page.running import SAMPLE, Running, running

ROUNDS = 5


def check_only(link: Connection) -> None:
    """In a process of its own: check each photo that is named, tell how long it took."""
    from aligncheck.checking import check

    while (path := link.recv()) is not None:
        start = time.monotonic()
        check(path, "12x12in")
        link.send(time.monotonic() - start)


def cpu_s(pid: int | None) -> float:
    """Processor time of a process so far, s: unlike the clock, it is the same on a busy machine."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def posted(bench: Running, photo: bytes, seed: int) -> float:
    """Seconds from posting a photo until its page stands with the answer."""
    client = bench.client()
    start = time.monotonic()
    # What lies behind a JPEG's end is no part of the picture, but makes it another file.
    url = client.send(photo + str(seed).encode()).json["url"]
    state = client.wait(url, pause_s=0.02)
    assert state["state"] == "done", state
    assert client.get(url).status == 200
    assert client.get(f"{url}/overlay.jpg").status == 200
    return time.monotonic() - start


def main() -> None:
    """Measure both in turn, so that a busy machine is as busy for one as for the other."""
    photos = [Path(p) for p in sys.argv[1:]] or [SAMPLE]
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=check_only, args=(theirs,), daemon=True)
    process.start()
    with tempfile.TemporaryDirectory() as folder, running(Path(folder), workers=1, max_waiting_a_place=99) as bench:
        worker = bench.desk.pool.slots[0]
        for path in photos:
            photo, over, over_cpu = path.read_bytes(), [], []
            for k in range(ROUNDS + 1):
                before = cpu_s(process.pid)
                ours.send(path)
                alone, alone_cpu = ours.recv(), cpu_s(process.pid) - before
                before = cpu_s(worker.process.pid) + time.process_time() if worker.process else 0.0
                whole = posted(bench, photo, k)
                whole_cpu = cpu_s(worker.process.pid) + time.process_time() - before
                # The first round warms both up.
                over += [whole - alone] if k else []
                over_cpu += [whole_cpu - alone_cpu] if k else []
                print(f"{path.name}: check {alone:.2f} s, posted to shown {whole:.2f} s")
            print(f"{path.name}: over the check itself, median {statistics.median(over):+.2f} s (at most 0.5)")
            print(f"{path.name}: of processor time, page and flat view included, {statistics.median(over_cpu):+.2f} s")
    ours.send(None)
    process.join(10)


if __name__ == "__main__":
    main()
