"""A record of 500 photos: time to list it, time and memory to export it.

The stages' flat views are as large as real ones (2400 px), drawn from a sample photo's; nothing is checked anew.

    .venv/bin/python tests/bench/record_large.py --stages 500
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from aligncheck.record import new_record
from aligncheck.record.store import store
from aligncheck.result.write import as_jpeg, as_json
from tests.record.pieces import hand_drawn, jpeg, result_of, shown

ALIGNCHECK = Path(sys.executable).with_name("aligncheck")


def main() -> None:
    """Build the record, list it, export it, print one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stages", type=int, default=500)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        record = Path(folder) / "piece"
        new_record(record, "12x12in", name="Long piece")
        _fill(record, asked.stages)
        listing = min(_seconds("list", record) for _ in range(5))
        before = _cpu()
        begun = _seconds("export", record, "--out", str(Path(folder) / "out"))
        cpu = _cpu() - before
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        sizes = {p.name: p.stat().st_size / 1e6 for p in sorted((Path(folder) / "out").iterdir())}
    print(f"stages       {asked.stages}")
    print(f"list         {listing:.2f} s (whole command, best of five)")
    print(f"export       {begun:.1f} s ({cpu:.1f} s of processor time)")
    print(f"peak memory  {peak:.0f} MB")
    for name, size in sizes.items():
        print(f"{name:24s} {size:.1f} MB")


def _fill(record: Path, stages: int) -> None:
    """Stages with flat views of the size of real ones; twelve drawings, used in turn."""
    rng = np.random.default_rng(1)
    views = []
    for k in range(12):
        view = np.full((2400, 2400, 3), (40, 50, 90), np.uint8)
        for ring in range(1, 9):
            cv2.circle(view, (1200, 1200), 110 * ring, (225, 225, 215), 6, cv2.LINE_AA)
        for _ in range(40 * k):
            cv2.circle(view, rng.integers(300, 2100, 2).tolist(), 14, rng.integers(0, 255, 3).tolist(), -1)
        views.append(as_jpeg(np.clip(view + rng.normal(0, 4, view.shape), 0, 255).astype(np.uint8)))
    begun = datetime(2026, 1, 1, 9)
    for k in range(stages):
        flat = views[k * 12 // stages]
        errors = rng.normal(0, 0.1, (4, 2))
        files = {".json": as_json(result_of(hand_drawn(), errors, seed=k)), ".flat.jpg": flat}
        taken = (begun + timedelta(hours=k)).isoformat()
        store(record, shown(k, photo=jpeg(k, 64), files=files, taken=taken))


def _cpu() -> float:
    """Processor time of all commands run so far, s: unlike the clock, it is the same on a busy machine."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _seconds(command: str, record: Path, *more: str) -> float:
    begun = time.monotonic()
    subprocess.run([ALIGNCHECK, "record", command, str(record), *more], check=True, stdout=subprocess.DEVNULL)
    return time.monotonic() - begun


if __name__ == "__main__":
    main()
