"""What the whole command finds on painted pieces of many kinds, one line a piece.

    python -m tests.bench.dot_variety [--seeds 1] [--first 1] [--only swirl,metal] [--keep FOLDER]

Draws each topic of `tests.dots.variety` with the tests' renderer, runs `aligncheck check` on the photo and compares:
dots found, missed and false, centres and diameters (mm rms), and which missing, oversize and merged ones are named.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
from scipy.optimize import linear_sum_assignment

from tests.dots.variety import BRIDGE, NO_DOTS, PANEL_MM, TOPICS, photo

COMMAND = "from aligncheck.cli import main; main()"
#: A place is named if what is told lies so near, mm.
NEAR_MM = 3.0


def check(picture: Path, out: Path) -> dict | None:
    """The result of the command, or None where it refuses."""
    words = [sys.executable, "-P", "-c", COMMAND, "check", str(picture), "--panel", f"{PANEL_MM}x{PANEL_MM}mm"]
    done = subprocess.run([*words, "--out", str(out)], capture_output=True, text=True, check=False)
    (out / "said.txt").write_text(done.stdout + done.stderr) if out.exists() else None
    return json.loads(next(out.rglob("*.json")).read_text()) if done.returncode in (0, 1) else None


def compare(truth: dict, result: dict | None) -> Counter:
    """Counts and sums of squares."""
    dots = [d for d in truth["dots"] if d["group"] not in NO_DOTS]
    true, size = np.array([d["centre_mm"] for d in dots]), np.array([d["diameter_mm"] for d in dots])
    big = np.array([d.get("oversize_mm", 0) > 0 for d in dots])
    got = (result or {}).get("dots") or []
    found = np.array([d["centre_mm"] for d in got]).reshape(-1, 2)
    told = np.array([d["diameter_mm"] for d in got])
    apart = np.hypot(*(found[:, None] - true).transpose(2, 0, 1))
    # Dots on one another are told apart by their size.
    cost = apart / (size / 2) + np.abs(np.log(told[:, None] / size))
    i, j = linear_sum_assignment(np.minimum(cost, 9.0))
    right = (apart[i, j] < size[j] / 2) & (np.abs(np.log(told[i] / size[j])) < 0.7)
    i, j = i[right], j[right]
    named = np.array([d["oversize"] for d in got], bool)
    hits = int((big[j] & named[i]).sum())
    holes = np.array([d["centre_mm"] for d in truth["missing_dots"]]).reshape(-1, 2)
    said = np.array([d["centre_mm"] for d in (result or {}).get("missing_dots") or []]).reshape(-1, 2)
    hit = int((np.hypot(*(holes[:, None] - said).transpose(2, 0, 1)).min(1, initial=99) < NEAR_MM).sum())
    return Counter(
        dots=len(true), found=len(j), missed=len(true) - len(j), false=len(got) - len(j),
        centre=float((apart[i, j] ** 2).sum()), diameter=float(((told[i] - size[j]) ** 2).sum()),
        bias=float((told[i] - size[j]).sum()),
        held=int((np.abs(told[i] - size[j]) <= [got[k]["diameter_u95_mm"] for k in i]).sum()),
        big=int(big.sum()), big_named=hits, big_wrong=int(named.sum()) - hits,
        gone=len(holes), gone_named=hit, gone_wrong=len(said) - hit,
        merged=len({d["index"] for d in truth["dots"] if d["group"] == BRIDGE}),
        merged_named=len((result or {}).get("merged_dots") or []),
        misplaced=len((result or {}).get("misplaced_dots") or []),
    )  # fmt: skip


def line(name: str, c: Counter, note: str = "") -> str:
    """One row of the table; faults as named / painted + named wrongly."""
    n = max(c["found"], 1)
    faults = [f"{c[f'{k}_named']}/{c[k]}+{c[f'{k}_wrong']}" for k in ("gone", "big")]
    parts = [
        f"{name:22s} {c['dots']:5d} {c['missed']:5d} {c['false']:5d}",
        f"{np.sqrt(c['centre'] / n):.2f} {np.sqrt(c['diameter'] / n):.2f} {c['bias'] / n:+.2f} {c['held'] / n:4.0%} ",
        *faults,
        f"{c['merged_named']}/{c['merged']} {c['misplaced']:3d}  {note}",
    ]
    return " ".join(parts)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--only", help="topics, by commas")
    parser.add_argument("--keep", type=Path, help="draw and leave everything here; photos that lie there are used")
    a = parser.parse_args()
    topics = {k: t for k, t in TOPICS.items() if not a.only or k in a.only.split(",")}
    total: Counter = Counter()
    print(f"{'':22s}  dots missed false centre diameter bias held   missing oversize merged misplaced")
    with tempfile.TemporaryDirectory() as temporary:
        folder = a.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        for name, topic in topics.items():
            for seed in range(a.first, a.first + a.seeds):
                path = folder / f"{name.replace(' ', '_')}_{seed}.jpg"
                if not path.exists():
                    photo(topic, 100 * seed + list(TOPICS).index(name)).save(path)
                truth = json.loads(path.with_suffix(".json").read_text())
                result = check(path, folder / f"out_{path.stem}")
                one = compare(truth, result)
                total.update(one)
                note = "refused" if result is None else f"{result['stage']} {(result.get('repeat') or {}).get('order')}"
                print(line(f"{name} {seed}", one, note), flush=True)
    print(line("all", total))


if __name__ == "__main__":
    main()
