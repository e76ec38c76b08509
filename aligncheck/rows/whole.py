"""Rows that all segments have: found, measured, and looked for once more where much chalk is left over."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import STRAY_MM, ChalkMap
from aligncheck.rows.drawn import without
from aligncheck.rows.finish import finish_rows
from aligncheck.rows.fit import RowFit, fit_quickly, frame_of
from aligncheck.rows.fold import Sector, fold, fold_beside
from aligncheck.rows.search import RowShape, likely_rows, stroke_level
from aligncheck.rows.sets import LEAST_FREE, choose_rows, distinct, free_share, is_deep, overlooked

Floats = NDArray[np.float64]

#: A petal of which less than this share of the row's usual evidence is seen is not there; nor is a row of which less
#: than this share of its petals is.
PETAL_SHARE, ROW_SHARE = 0.45, 0.6
#: Chalk along a row's sides on the whole, 0 to 1: wiped ghosts and grain come to a third at most.
LEAST_SUPPORT = 0.42
#: How often rows that others hid are looked for.
SECOND_LOOKS = 2
#: Chalk of all segments on one another is a stroke from this share of a usual stroke on.
STROKE_SHARE = 0.3
#: Candidates beside each axis at a second look: what the first one left is less.
MORE = 8
#: Rows leave this share of such chalk at most where all are found: what hands stray beside the sides.
LEFT_SHARE = 0.06


def whole_rows(
    chalk: ChalkMap, centre_mm: Floats, segments: int, rotation_deg: float, outermost_mm: float
) -> list[RowFit]:
    """Find and measure the rows that nearly all of the segments have."""
    half = np.pi / segments
    soft = chalk.blurred(STRAY_MM)
    sectors = fold(soft, centre_mm, segments, rotation_deg, outermost_mm)
    frames = {b / 2: frame_of(centre_mm, segments, rotation_deg, b / 2) for b in range(4)}
    level = stroke_level(sectors)
    likely = [fit_quickly(chalk, soft, frames[s.between], s) for s in likely_rows(sectors, level)]
    rows, chosen = _best(chalk, likely, half)
    bare = without(chalk, rows) if rows else chalk
    bare_soft = bare.blurred(STRAY_MM)
    rest = fold(bare_soft, centre_mm, segments, rotation_deg, outermost_mm)
    if _left(sectors, rest, level) < LEFT_SHARE:
        return rows
    beside = fold_beside(soft, centre_mm, segments, rotation_deg, outermost_mm)
    more = [fit_quickly(chalk, soft, frames[s.between], s) for s in _of_each(beside, level)]
    shapes = [s for s in _of_each(rest, level) if free_share(s, rows, half) > LEAST_FREE]
    more += [fit_quickly(bare, bare_soft, frames[s.between], s) for s in shapes]
    return _best(chalk, [*chosen, *more], half)[0]


def _of_each(sectors: Sequence[Sector], level: float) -> list[RowShape]:
    """Outlines of every sector, so that strong ones of another do not crowd them out."""
    return [shape for sector in sectors for shape in likely_rows([sector], level, MORE)]


def _best(chalk: ChalkMap, likely: list[RowFit], half_rad: float) -> tuple[list[RowFit], list[RowFit]]:
    """The rows that explain the chalk best, measured and as found."""
    chosen = [likely[k] for k in choose_rows(chalk, likely, half_rad)]
    return _finished(chalk, [fit for fit in chosen if is_row(fit)], likely, half_rad), chosen


def _left(sectors: Sequence[Sector], rest: Sequence[Sector], level: float) -> float:
    """Share of the chalk that repeats that is left in `rest`."""
    whole, left = (sum(_strokes(sector, level) for sector in some) for some in (sectors, rest))
    return left / max(whole, 1e-9)


def _strokes(sector: Sector, level: float) -> float:
    trace = sector.tensor[..., 0] + sector.tensor[..., 2]
    return float(np.maximum(trace - STROKE_SHARE * level, 0).sum())


def _finished(chalk: ChalkMap, rough: list[RowFit], likely: list[RowFit], half_rad: float) -> list[RowFit]:
    """Measure the rows, and those that only then come to light."""
    rows = distinct(chalk, finish_rows(chalk, rough), half_rad)
    for _ in range(SECOND_LOOKS):
        more = overlooked(chalk, likely, rows, half_rad) if rows else None
        if more is None or not is_row(more):
            break
        rough = [*rough, more]
        rows = distinct(chalk, finish_rows(chalk, rough), half_rad)
    return [fit for fit in rows if is_row(fit)]


def there_of(fit: RowFit) -> NDArray[np.bool_]:
    """Which petals (petals,) were traced."""
    support = fit.support.mean(1)
    return np.asarray(support > PETAL_SHARE * np.median(support), bool)


def is_row(fit: RowFit) -> bool:
    """Whether a row shows chalk enough in petals enough."""
    return bool(np.median(fit.support) > LEAST_SUPPORT and there_of(fit).mean() > ROW_SHARE and is_deep(fit))
