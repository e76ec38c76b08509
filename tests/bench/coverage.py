"""Do the stated uncertainties hold? Renders photos of known truth, checks them, compares claim and scatter.

    .venv/bin/python -m tests.bench.coverage --photos 24 --out coverage/

Prints one table (figure by condition: how many, rms error, rms of the claimed standard deviation, share of the 95 %
intervals that hold the truth) and, with --out, draws it as `coverage.svg`.
"""

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.bench.coverage_cases import CASES, Case
from tests.bench.coverage_plot import plot
from tests.true_drift import TrueDrift, true_drift, turned

#: A normal number's 95 % half-width in standard deviations, and that of a round point's 95 % circle.
NUMBER_95, POINT_95 = 1.96, 2.448
#: A corner further off is another outline's.
MOST_OFF_MM = 2.0


@dataclass(frozen=True)
class Sample:
    """One figure of one photo: its error and its claim, in the figure's unit. Points: distance and radius."""

    case: str
    figure: str
    error: float
    u95: float


@dataclass(frozen=True)
class Row:
    """All samples of one figure under one condition."""

    case: str
    figure: str
    count: int
    rms_error: float
    rms_claim: float
    held: float


def samples_of(case: Case, seed: int, size_px: tuple[int, int]) -> tuple[list[Sample], str]:
    """Render one photo of `case`, check it, and compare every figure; the second value says why it was refused."""
    import cv2

    from aligncheck.checking import check
    from aligncheck.errors import AligncheckError
    from tests.render import photograph

    cv2.setNumThreads(1)
    drawing, scene = case.build(seed, size_px)
    picture = photograph(drawing, scene, seed)
    try:
        found = check(_photo(picture.jpeg()), (scene.panel.width_mm, scene.panel.height_mm))
    except AligncheckError as refusal:
        return [], f"{case.name} {seed}: {refusal.code}"
    true = true_drift(picture.truth)
    corners = np.hypot(*(found.panel.to_panel(picture.truth["corners_px"]) - scene.panel.corners_mm).T)
    pairs = [("corner_mm", e, u) for e, u in zip(corners, found.panel.corner_u95_mm, strict=True)]
    wrong = corners.max() > MOST_OFF_MM or found.marks.segments != len(true.spokes)
    pairs += _pairs(found.drift, true)
    kept = [Sample(case.name, f, float(e), float(u)) for f, e, u in pairs]
    remark = f"{case.name} {seed}: WRONG, corner off by {corners.max():.1f} mm, {found.marks.segments} segments"
    return kept, remark if wrong else ""


def _photo(jpeg: bytes):
    """Through a file in memory is not how photos come: write and read one."""
    import tempfile

    from aligncheck.photo import read_photo

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "panel.jpg"
        path.write_bytes(jpeg)
        return read_photo(path)


def _pairs(drift, true: TrueDrift) -> Iterator[tuple[str, float, float]]:
    """(figure, error, u95) of everything that a Drift states."""
    yield "centre_mm", float(np.hypot(*(np.array(drift.centre_mm) - true.centre_mm))), drift.centre_u95_mm
    for s in drift.spokes:
        t = true.nearest_spoke(s.angle_deg)
        if abs(turned(s.angle_deg - t.angle_deg)) > 3:
            continue
        yield "direction_deg", turned(s.angle_deg - t.angle_deg), s.angle_u95_deg
        yield "move_mm", s.move_mm - t.move_mm, s.move_u95_mm
        yield "miss_mm", s.miss_mm - t.miss_mm, s.miss_u95_mm
    for r in drift.rings:
        t = true.nearest_ring(r.radius_mm)
        if abs(r.radius_mm - t.radius_mm) > 2:
            continue
        yield "radius_mm", r.radius_mm - t.radius_mm, r.radius_u95_mm
        if r.number == t.number:
            yield "ring_drift_mm", r.drift_mm - t.drift_mm, r.drift_u95_mm


def gather(photos: int, size_px: tuple[int, int], cases: list[Case], jobs: int) -> tuple[list[Sample], list[str]]:
    """Samples of `photos` photos of each case, and the refusals."""
    tasks = [(case, seed, size_px) for case in cases for seed in range(1, photos + 1)]
    with ProcessPoolExecutor(jobs) as pool:
        answers = list(pool.map(samples_of, *zip(*tasks, strict=True)))
    return [s for found, _ in answers for s in found], [why for _, why in answers if why]


def rows_of(samples: list[Sample]) -> list[Row]:
    """One row for each figure and condition, and for each figure over all of them."""
    groups: dict[tuple[str, str], list[Sample]] = defaultdict(list)
    for s in samples:
        groups[s.figure, s.case].append(s)
        groups[s.figure, "all"].append(s)
    rows = []
    for (figure, case), group in groups.items():
        error, u95 = np.array([s.error for s in group]), np.array([s.u95 for s in group])
        point = figure in ("corner_mm", "centre_mm")
        # A round point's distance has sqrt(2) the standard deviation of each coordinate.
        claim = u95 / POINT_95 * np.sqrt(2) if point else u95 / NUMBER_95
        held = float((np.abs(error) <= u95).mean())
        rows.append(Row(case, figure, len(group), _rms(error), _rms(claim), held))
    return rows


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
    asked.add_argument("--size", default="2048x1536", help="pixels")
    asked.add_argument("--cases", default="", help="comma-separated; all where not given")
    asked.add_argument("--jobs", type=int, default=1)
    asked.add_argument("--out", type=Path, default=None, help="folder for coverage.svg and coverage.txt")
    a = asked.parse_args()
    width, height = map(int, a.size.split("x"))
    cases = [c for c in CASES if not a.cases or c.name in a.cases.split(",")]
    began = time.perf_counter()
    samples, remarks = gather(a.photos, (width, height), cases, a.jobs)
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


if __name__ == "__main__":
    main()
