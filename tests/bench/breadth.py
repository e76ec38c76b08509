"""Is the panel found in scenes of other kinds? Renders them, looks for the panel, and counts.

    .venv/bin/python -m tests.bench.breadth --photos 3

A corner is wrong beyond 2 mm, or beyond 1.5 times its claim and more than 0.3 mm (0.15 % of the side where that is
more): stated with confidence and not so. Refusals are told by their code.
"""

import argparse
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from aligncheck.errors import AligncheckError
from aligncheck.panel import find_panel
from aligncheck.photo import read_photo
from tests.bench.breadth_cases import KINDS, Kind
from tests.bench.coverage_figures import corner_errors
from tests.render import photograph
from tests.truth import read_truth

#: Beyond this (mm) another outline was taken; less, but this often the claim and this much (mm, share of the side).
WRONG_MM, BEYOND, LEAST_MM, LEAST_SHARE = 2.0, 1.5, 0.3, 0.0015


@dataclass(frozen=True)
class Answer:
    """One photo: the worst corner's error and its error over its claim; or why it was refused."""

    kind: str
    seed: int
    worst_mm: float = 0.0
    ratio: float = 0.0
    refused: str | None = None
    side_mm: float = 300.0

    @property
    def verdict(self) -> str:
        """Refused, wrong, beyond its claim, or fine."""
        if self.refused:
            return "refused"
        if self.worst_mm > max(WRONG_MM, 0.01 * self.side_mm):
            return "WRONG"
        beyond = self.ratio > BEYOND and self.worst_mm > max(LEAST_MM, LEAST_SHARE * self.side_mm)
        return "beyond" if beyond else "fine"


def answer_to(kind: Kind, seed: int, keep: Path) -> Answer:
    """Render one photo (or take it from `keep`) and look for its panel."""
    path = keep / f"{kind.name.replace(' ', '-')}-{seed}.jpg"
    drawing, scene = kind.build(seed, kind.size_px)
    if not path.with_suffix(".json").exists():
        photograph(drawing, scene, seed).save(path)
    size_mm = scene.panel.width_mm, scene.panel.height_mm
    try:
        panel = find_panel(read_photo(path), *size_mm)
    except AligncheckError as refusal:
        return Answer(kind.name, seed, refused=refusal.code)
    errors = corner_errors(panel, read_truth(path))
    ratios = errors / np.array(panel.corner_u95_mm)
    return Answer(kind.name, seed, float(errors.max()), float(ratios.max()), side_mm=max(size_mm))


def main() -> None:
    """Run it."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--photos", type=int, default=3, help="of each kind")
    asked.add_argument("--first", type=int, default=1)
    asked.add_argument("--kinds", default="", help="comma-separated; all where not given")
    asked.add_argument("--keep", type=Path, default=None, help="folder for the photos, to take them from again")
    a = asked.parse_args()
    cv2.setNumThreads(1)
    count: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        keep = a.keep or Path(folder)
        keep.mkdir(parents=True, exist_ok=True)
        for kind in KINDS:
            if a.kinds and kind.name not in a.kinds.split(","):
                continue
            for number in range(a.first, a.first + a.photos):
                found = answer_to(kind, 100 * (1 + KINDS.index(kind)) + number, keep)
                count[found.verdict] += 1
                said = found.refused or f"{found.worst_mm:.2f} mm, {found.ratio:.1f} x its claim"
                sys.stdout.write(f"{kind.name:20} {found.seed:6d} {found.verdict:8} {said}\n")
                sys.stdout.flush()
    sys.stdout.write(f"{dict(count)}\n")


if __name__ == "__main__":
    main()
