"""What several photos of one panel gain over one, and whether their joint intervals hold.

    .venv/bin/python -m tests.bench.together_gain --sets 60 --first 1000

Renders panels of four kinds (boards and canvases, their thickness told or not), each from two to four places by as many
phones, checks the photos one by one and together, and prints errors, claims and the share of 95 % intervals that hold,
by figure and by kind; then how the moves of each set compare with those of its best photo, known in hindsight.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from aligncheck.checking import Check, check
from aligncheck.errors import AligncheckError
from aligncheck.joint import JointCheck, Measured, join
from tests.bench.coverage import Sample, rows_of, table
from tests.bench.coverage_figures import pairs
from tests.bench.together_sets import PanelSet, panel_set
from tests.true_drift import true_drift
from tests.truth import read_truth

#: A set no worse than this many times its best photo, known in hindsight, is as good.
AS_GOOD = 1.05


def samples_of(found: Check | JointCheck, truth: dict[str, Any], case: str, seed: int) -> list[Sample]:
    """All figures of one photo, or of several together."""
    return [Sample(case, *pair, seed) for pair in pairs(found, truth, true_drift(truth))]


def off(samples: list[Sample]) -> float:
    """Rms error of the moves."""
    return float(np.sqrt(np.mean([s.error**2 for s in samples if s.figure == "move_mm"])))


def measured(one: PanelSet, folder: Path) -> Iterator[tuple[Check, dict[str, Any]]]:
    """The photos of a set that can be measured, with their truths."""
    size = one.scenes[0].panel.width_mm, one.scenes[0].panel.height_mm
    for path in one.photos(folder):
        try:
            yield check(path, size, depth_mm=one.depth_mm), read_truth(path)
        except AligncheckError as error:
            sys.stderr.write(f"{path.name}: {error}\n")


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--sets", type=int, default=8)
    asked.add_argument("--first", type=int, default=0, help="seed of the first; panels never looked at: a new one")
    asked.add_argument("--size", default="2048x1536", help="pixels")
    asked.add_argument("--keep", type=Path, default=None, help="folder for the photos, to take them from again")
    a = asked.parse_args()
    width, height = map(int, a.size.split("x"))
    found: list[Sample] = []
    ratios: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(a.first, a.first + a.sets):
            one = panel_set(seed, (width, height))
            photos = list(measured(one, a.keep or Path(folder)))
            singles = [samples_of(done, truth, f"{one.kind}, one", seed) for done, truth in photos]
            try:
                joint = join([Measured.of(done) for done, _ in photos])
            except AligncheckError as error:
                sys.stderr.write(f"{one.kind} {seed}: {error}\n")
                continue
            truth = photos[joint.together.used[0]][1]
            together = samples_of(joint, truth, one.kind, seed)
            found += [s for single in singles for s in single] + together
            ratios.append(off(together) / min(off(single) for single in singles))
    sys.stdout.write(table([r for r in rows_of(found) if r.case != "all"]) + "\n")
    good = sum(r <= AS_GOOD for r in ratios)
    sys.stdout.write(f"{len(ratios)} sets; moves as good as the best photo's on {good}\n")


if __name__ == "__main__":
    main()
