"""How long the whole command takes for a photo of ten thousand dots, and what of them it finds.

    python -m tests.bench.ten_thousand [--dots 10000] [--repeats 1] [--keep FOLDER]

Draws the piece with the tests' renderer (24 inches square, dots of 2 to 4 mm, 12 megapixels), runs
`aligncheck check` on the photo and prints processor time, time by the clock, memory, and how many dots were found,
missed and false.
"""

import argparse
import compileall
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from tests.dots.many import many_dots, scene_of
from tests.render import photograph

COMMAND = "from aligncheck.cli import main; main()"
PANEL_MM, SIZE_PX, SEGMENTS, DIAMETERS_MM = 610.0, (4032, 3024), 24, (2.0, 4.0)


def draw(folder: Path, dots: int, seed: int) -> Path:
    """The photo and its truth."""
    drawing = many_dots(dots, PANEL_MM, SEGMENTS, DIAMETERS_MM, seed)
    return photograph(drawing, scene_of(PANEL_MM, SIZE_PX, seed), seed).save(folder / "many.jpg")


def run(photo: Path, out: Path) -> tuple[float, float, float]:
    """Seconds of processor time and by the clock, and MB of memory at most, of one check."""
    words = [sys.executable, "-c", COMMAND, "check", str(photo), "--panel", f"{PANEL_MM:g}x{PANEL_MM:g}mm"]
    began = time.perf_counter()
    child = subprocess.Popen([*words, "--out", str(out)], stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit("the check failed")
    return used.ru_utime + used.ru_stime, time.perf_counter() - began, used.ru_maxrss / 1024


def compare(photo: Path, out: Path) -> str:
    """What of the truth was found, in words."""
    truth = json.loads(photo.with_suffix(".json").read_text())
    result = json.loads(next(out.rglob("*.json")).read_text())
    true = np.array([d["centre_mm"] for d in truth["dots"]])
    size = np.array([d["diameter_mm"] for d in truth["dots"]])
    found = np.array([d["centre_mm"] for d in result["dots"]]).reshape(-1, 2)
    near, which = cKDTree(true).query(found)
    right = near < size[which] / 2
    off = near[right]
    return (
        f"{len(true)} dots: {len(set(which[right].tolist()))} found, {int((~right).sum())} false, centres "
        f"{np.sqrt(np.mean(off**2)):.2f} mm rms; {len(result['missing_dots'])} of {len(truth['missing_dots'])} missing "
        "ones named"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--dots", type=int, default=10000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--repeats", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="draw and leave everything here; a photo that lies there is used")
    a = parser.parse_args()
    compileall.compile_dir(Path(__file__).parents[2] / "aligncheck", quiet=1)
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        photo = folder / "many.jpg"
        if not photo.exists():
            draw(folder, a.dots, a.seed)
        runs = [run(photo, folder / f"out{k}") for k in range(a.repeats)]
        used, clock, memory = (min(column) for column in zip(*runs, strict=True))
        print(compare(photo, folder / "out0"))
        print(f"{used:.1f} s of processor time, {clock:.1f} s by the clock, {memory:.0f} MB")


if __name__ == "__main__":
    main()
