"""The public surface as a program of someone else would use it; mypy reads this file, nothing runs it."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import aligncheck


def sure_moves(photo: Path) -> list[tuple[float, float]]:
    """Every sure move with its interval, mm."""
    one: aligncheck.Check = aligncheck.check(photo, panel="12x12in", layout=aligncheck.Layout(segments=12))
    return [(s.move_mm, s.move_u95_mm) for s in one.drift.spokes if s.verdict == "out"]


def stages(photo: Path) -> float | None:
    """One stage after the other."""
    seen: aligncheck.Photo = aligncheck.read_photo(photo)
    panel: aligncheck.Panel = aligncheck.find_panel(seen, 304.8, 304.8)
    marks: aligncheck.Marks = aligncheck.find_marks(seen, panel)
    drift: aligncheck.Drift = aligncheck.measure_drift(marks)
    view: aligncheck.FlatView = aligncheck.flat_view(seen.rgb, panel, 4.0)
    print(view.image.shape, view.px_per_mm, seen.camera.f35_mm)
    return drift.rotation_deg


def many(photos: list[Path]) -> list[str]:
    """Refusals are values: `error` says why."""
    with ThreadPoolExecutor() as pool:
        outcomes = list(aligncheck.check_many(photos, (304.8, 304.8), executor=pool, tolerance_mm=0.5))
    return [str(o.error) for o in outcomes if isinstance(o.error, aligncheck.AligncheckError)]


def as_file(one: aligncheck.Check) -> dict[str, object]:
    """The result file's dictionary, and the schema that it fits."""
    print(aligncheck.result_schema()["title"])
    return aligncheck.as_result(one)


def edges(photo: Path) -> float:
    """The margin of the narrowest side, and counts of dots."""
    margin: aligncheck.Margin | None = aligncheck.measure_margin(photo, "12x12in", rebate_mm=6.0).margin
    counts: list[int] = [ring.count for ring in aligncheck.dots_on_ring(60, 4, 1).closed]
    print(counts, aligncheck.walked_dots(6, 2, 50).sizes_mm)
    return min(side.margin_mm for side in margin.sides) if margin else 0.0
