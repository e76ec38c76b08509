"""How long a check takes, as ratios to plain work on the same photo in the same run.

    python tests/bench/speed.py PHOTO --panel 12x12in [--repeats 5]

Two ratios: from file to drift in a running process against the decoding of the same JPEG; and the whole command
against a bare script that imports NumPy and OpenCV, decodes the photo, warps one flat view and writes two JPEGs.
Processor time, because other programs may be busy; the least of several repeats, taken in turns.
"""

import argparse
import compileall
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BARE = """
import sys
import cv2, numpy as np
photo = cv2.imread(sys.argv[1])
h, w = photo.shape[:2]
side = 2400
corners = np.float32([[w * .1, h * .1], [w * .9, h * .12], [w * .88, h * .9], [w * .12, h * .88]])
square = np.float32([[0, 0], [side, 0], [side, side], [0, side]])
flat = cv2.warpPerspective(photo, cv2.getPerspectiveTransform(corners, square), (side, side))
cv2.imwrite(sys.argv[2] + "/flat.jpg", flat)
cv2.imwrite(sys.argv[2] + "/photo.jpg", cv2.resize(photo, (2400, 2400 * h // w), interpolation=cv2.INTER_AREA))
"""

COMMAND = "from aligncheck.cli import main; main()"


def child_seconds(words: list[str]) -> tuple[float, float]:
    """Processor and wall time of another process."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    wall, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stderr)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, wall


def whole_command(photo: Path, panel: str, repeats: int) -> tuple[float, float]:
    """Ratio of the whole command to the bare script: processor time, wall time."""
    with tempfile.TemporaryDirectory() as folder:
        ours = [sys.executable, "-c", COMMAND, "check", str(photo), "--panel", panel, "--out", folder]
        bare = [sys.executable, "-c", BARE, str(photo), folder]
        runs = [(child_seconds(ours), child_seconds(bare)) for _ in range(repeats)]
    return (
        min(r[0][0] for r in runs) / min(r[1][0] for r in runs),
        min(r[0][1] for r in runs) / min(r[1][1] for r in runs),
    )


def file_to_drift(photo: Path, panel: str, repeats: int) -> tuple[float, float]:
    """Ratio of check() to decoding in this process, on one thread, and the decoding's seconds."""
    import cv2
    import numpy as np

    from aligncheck import check

    cv2.setNumThreads(1)
    data = np.frombuffer(photo.read_bytes(), np.uint8)
    check(photo, panel)
    decoding, checking = [], []
    for _ in range(repeats):
        began = time.process_time()
        cv2.imdecode(data, cv2.IMREAD_COLOR)
        between = time.process_time()
        check(photo, panel)
        decoding.append(between - began)
        checking.append(time.process_time() - between)
    return min(checking) / min(decoding), min(decoding)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("photo", type=Path)
    parser.add_argument("--panel", required=True)
    parser.add_argument("--repeats", type=int, default=5)
    asked = parser.parse_args()
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    # An installed package has its bytecode; a source tree may be kept without (PYTHONDONTWRITEBYTECODE).
    compileall.compile_dir(Path(__file__).parents[2] / "aligncheck", quiet=1)
    ratio, decoding = file_to_drift(asked.photo, asked.panel, asked.repeats)
    print(f"file to drift: {ratio:.1f} x decoding ({1000 * decoding:.0f} ms); at most 8, aim 4")
    cpu, wall = whole_command(asked.photo, asked.panel, asked.repeats)
    print(f"whole command: {cpu:.2f} x the bare script by processor time, {wall:.2f} x by the clock; at most 3")


if __name__ == "__main__":
    main()
