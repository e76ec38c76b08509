"""Do the stated uncertainties hold? Renders photos of known truth, checks them, compares claim and scatter.

    .venv/bin/python -m tests.bench.coverage --photos 24 --out coverage/

Prints one table (figure by condition: how many, rms error, rms of the claimed standard deviation, share of the 95 %
intervals that hold the truth) and, with --out, draws it as `coverage.svg` and keeps every figure in `samples.json`.
A photo that is done gets a line on standard error. --first takes photos that nobody has looked at yet.
"""

import argparse
import json
import sys
import tempfile
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.coverage_cases import CASES, Case, seed_of
from tests.bench.coverage_plot import plot
from tests.render import Scene, photograph
from tests.true_drift import true_drift
from tests.truth import read_truth

#: A normal number's 95 % half-width in standard deviations, and that of a round point's 95 % circle.
NUMBER_95, POINT_95 = 1.96, 2.448
#: A corner further off is another outline's.
MOST_OFF_MM = 2.0
#: Name of the row over all figures.
EVERY = "every figure"


@dataclass(frozen=True)
class Sample:
    """One figure of one photo: its error and its claim, in the figure's unit. Points: distance and radius."""

    case: str
    figure: str
    error: float
    u95: float
    seed: int = 0


@dataclass(frozen=True)
class Row:
    """All samples of one figure under one condition."""

    case: str
    figure: str
    count: int
    rms_error: float
    rms_claim: float
    held: float


def samples_of(case: Case, seed: int, size_px: tuple[int, int], keep: Path | None = None) -> tuple[list[Sample], str]:
    """Render one photo of `case`, check it, and compare every figure; the second value says why it was refused.

    With `keep` photo and truth are kept in that folder, and taken from there where they are.
    """
    import cv2

    from aligncheck.checking import check
    from aligncheck.errors import AligncheckError
    from tests.bench.coverage_figures import corner_errors, pairs

    cv2.setNumThreads(1)
    with tempfile.TemporaryDirectory() as folder:
        path = (keep or Path(folder)) / f"{case.name.replace(' ', '-')}-{seed}-{size_px[0]}.jpg"
        scene, truth = _photographed(case, seed, size_px, path)
        size_mm = scene.panel.width_mm, scene.panel.height_mm
        try:
            found = check(path, size_mm, depth_mm=case.depth_told_mm(seed, scene))
        except AligncheckError as refusal:
            return [], f"{case.name} {seed}: {refusal.code}"
    true = true_drift(truth)
    worst = float(corner_errors(found.panel, truth).max())
    kept = [Sample(case.name, *pair, seed) for pair in pairs(found, truth, true)]
    wrong = worst > MOST_OFF_MM or found.marks.segments != len(true.spokes)
    remark = f"{case.name} {seed}: WRONG, corner off by {worst:.1f} mm, {found.marks.segments} segments"
    return kept, remark if wrong else ""


def _photographed(case: Case, seed: int, size_px: tuple[int, int], path: Path) -> tuple[Scene, dict[str, Any]]:
    """The photo at `path`, taken if it is not there yet: its scene and its truth."""
    drawing, scene = case.build(seed, size_px)
    if not path.exists() or not path.with_suffix(".json").exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        photograph(drawing, scene, seed).save(path)
    return scene, read_truth(path)


def gather(
    numbers: range, size_px: tuple[int, int], cases: list[Case], jobs: int, keep: Path | None
) -> tuple[list[Sample], list[str]]:
    """Samples of the photos with these numbers of each case, and the refusals."""
    tasks = [(case, seed_of(case, number), size_px, keep) for number in numbers for case in cases]
    answers = []
    with ProcessPoolExecutor(jobs) as pool:
        for task, answer in zip(tasks, pool.map(samples_of, *zip(*tasks, strict=True)), strict=True):
            answers.append(answer)
            sys.stderr.write(f"{len(answers)} of {len(tasks)}: {told(task[0], task[1], answer)}\n")
    return [s for found, _ in answers for s in found], [why for _, why in answers if why]


def told(case: Case, seed: int, answer: tuple[list[Sample], str]) -> str:
    """One photo in a line: its remark, or how many of its intervals hold and the worst error over its claim."""
    found, remark = answer
    worst: dict[str, float] = defaultdict(float)
    for s in found:
        worst[s.figure] = max(worst[s.figure], abs(s.error) / s.u95)
    beyond = "".join(f", {figure} {ratio:.1f}" for figure, ratio in worst.items() if ratio > 1)
    held = sum(abs(s.error) <= s.u95 for s in found)
    return remark or f"{case.name} {seed}: {held} of {len(found)} hold{beyond}"


def rows_of(samples: list[Sample]) -> list[Row]:
    """One row for each figure and condition, for each over all of the other, and for all; those in claims' units."""
    groups: dict[tuple[str, str], list[Sample]] = defaultdict(list)
    for s in samples:
        for figure, case in ((s.figure, s.case), (s.figure, "all"), (EVERY, s.case), (EVERY, "all")):
            groups[figure, case].append(s)
    return [_row(figure, case, group) for (figure, case), group in groups.items()]


def _row(figure: str, case: str, group: list[Sample]) -> Row:
    error, u95 = np.array([s.error for s in group]), np.array([s.u95 for s in group])
    # A round point's distance has sqrt(2) the standard deviation of each coordinate.
    factors = [np.sqrt(2) / POINT_95 if s.figure in ("corner_mm", "centre_mm") else 1 / NUMBER_95 for s in group]
    claim = u95 * factors
    held = float((np.abs(error) <= u95).mean())
    if figure == EVERY:
        error, claim = error / claim, np.ones(len(group))
    return Row(case, figure, len(group), _rms(error), _rms(claim), held)


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt((values**2).mean()))


def table(rows: list[Row]) -> str:
    """The rows as text."""
    lines = [f"{'figure':14} {'condition':12} {'n':>5} {'rms error':>10} {'rms claim':>10} {'held':>7}"]
    lines += [
        f"{r.figure:14} {r.case:12} {r.count:5d} {r.rms_error:10.4f} {r.rms_claim:10.4f} {r.held:7.1%}" for r in rows
    ]
    return "\n".join(lines)


def main() -> None:
    """Run it."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--photos", type=int, default=12, help="of each condition")
    asked.add_argument("--first", type=int, default=1, help="number of the first; photos never looked at: a new one")
    asked.add_argument("--size", default="2048x1536", help="pixels")
    asked.add_argument("--cases", default="", help="comma-separated; all where not given")
    asked.add_argument("--jobs", type=int, default=1)
    asked.add_argument("--keep", type=Path, default=None, help="folder for the photos, to take them from again")
    asked.add_argument("--out", type=Path, default=None, help="folder for coverage.svg and coverage.txt")
    a = asked.parse_args()
    width, height = map(int, a.size.split("x"))
    cases = [c for c in CASES if not a.cases or c.name in a.cases.split(",")]
    began = time.perf_counter()
    samples, remarks = gather(range(a.first, a.first + a.photos), (width, height), cases, a.jobs, a.keep)
    rows = rows_of(samples)
    text = table(rows)
    sys.stdout.write(text + "\n")
    sys.stdout.writelines(f"{r}\n" for r in remarks)
    refused = sum("WRONG" not in r for r in remarks)
    took = time.perf_counter() - began
    counts = f"{len(cases) * a.photos} photos, {refused} refused, {len(remarks) - refused} wrong"
    sys.stdout.write(f"{counts}, in {took:.0f} s\n")
    if a.out:
        a.out.mkdir(parents=True, exist_ok=True)
        (a.out / "coverage.txt").write_text(text + "\n")
        (a.out / "coverage.svg").write_text(plot(rows))
        (a.out / "samples.json").write_text(json.dumps([asdict(s) for s in samples]))


if __name__ == "__main__":
    main()
