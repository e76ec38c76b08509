"""Which outlines are rows: the set that explains the chalk best, none of it twice."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.fit import RowFit, evidence, sides, worth
from aligncheck.rows.search import UNLIKE_TIP_MM, RowShape, outline
from aligncheck.rows.shapes import step_lengths

Floats = NDArray[np.float64]

#: Points along a side.
POINTS = 48
#: Chalk is taken for the same stroke within this distance, mm, and this angle.
SAME_MM, SAME_DEG = 0.8, 14.0
#: What one more row must explain, mm of side; less is chance, or a remainder of what others explain.
ROW_COST_MM = 4.0
#: What any row explains at least, mm of side: the shortest petals looked for have sides of 10 mm.
LEAST_GAIN_MM = 6.0
#: Readings followed side by side, and most rows.
BEAM, MOST_ROWS = 40, 9
#: A petal is at least this deep by its width: what is flatter is an arc of a ring.
LEAST_DEPTH = 0.3
#: Share of an overlooked row's side that no other row explains, at least.
LEAST_FREE = 0.6
#: Finished, a row keeps less than this share of its side to itself where it has settled on another's chalk.
OWN_SHARE = 0.5
#: Evidence of a usual stroke, 0 to 1, is not taken for less than this.
LEAST_LEVEL = 0.5


@dataclass(frozen=True)
class _Explained:
    """Of every candidate: what each point of its side explains (candidates, POINTS), mm; and which points of it another
    candidate explains too (candidates, candidates, POINTS), itself not.
    """

    gain: Floats
    covered: NDArray[np.bool_]


def choose_rows(chalk: ChalkMap, fits: Sequence[RowFit], half_rad: float) -> list[int]:
    """Indices of the fits that are rows, the strongest first."""
    deep = [k for k, fit in enumerate(fits) if is_deep(fit)]
    if not deep:
        return []
    level = max(float(np.percentile([fits[k].support.mean() for k in deep], 80)), LEAST_LEVEL)
    # Petals that only some rows have count as often as they are there.
    most = max(len(fits[k].numbers) for k in deep)
    gain = {k: _gain(chalk, fits[k], level) * (len(fits[k].numbers) / most) for k in deep}
    likely = [k for k in deep if gain[k].sum() > LEAST_GAIN_MM]
    if not likely:
        return []
    nothing = np.zeros(POINTS, bool)
    shapes = [fits[k].shape for k in likely]
    covered = np.array([[nothing if a is b else _covered(a, b, half_rad) for b in shapes] for a in shapes])
    chosen = _best_set(_Explained(np.array([gain[k] for k in likely]), covered))
    return [likely[i] for i in chosen]


def overlooked(chalk: ChalkMap, fits: Sequence[RowFit], rows: Sequence[RowFit], half_rad: float) -> RowFit | None:
    """Return the best of the fits whose chalk the finished rows leave unexplained, or None.

    A rough row whose side swung onto another's hides it; finished, it no longer does.
    """
    level = max(float(np.median([row.support.mean() for row in rows])), LEAST_LEVEL)
    best, most = None, LEAST_GAIN_MM
    for fit in fits:
        if not is_deep(fit):
            continue
        free = _free(fit.shape, rows, half_rad)
        gain = float((_gain(chalk, fit, level) * free).sum())
        if free.mean() > LEAST_FREE and gain > most:
            best, most = fit, gain
    return best


def free_share(shape: RowShape, rows: Sequence[RowFit], half_rad: float) -> float:
    """Share of a row's side that no other row explains."""
    return float(_free(shape, rows, half_rad).mean()) if rows else 1.0


def _free(shape: RowShape, rows: Sequence[RowFit], half_rad: float) -> NDArray[np.bool_]:
    """Which points (POINTS,) of a row's side no other row explains."""
    return np.asarray(~np.any([_covered(shape, row.shape, half_rad) for row in rows], axis=0), bool)


def distinct(chalk: ChalkMap, rows: Sequence[RowFit], half_rad: float) -> list[RowFit]:
    """Leave out rows that have settled on the chalk of a row that explains more.

    Two rough readings of the same petals are two rows to the search; measured, both lie on the one that was drawn.
    """
    if len(rows) < 2:
        return list(rows)
    level = max(float(np.median([row.support.mean() for row in rows])), LEAST_LEVEL)
    gains = [float(_gain(chalk, row, level).sum()) * len(row.numbers) for row in rows]
    kept: list[RowFit] = []
    for k in np.argsort(gains)[::-1]:
        shared = [_covered(rows[k].shape, row.shape, half_rad) for row in kept]
        if kept and (1 - np.any(shared, axis=0).mean() < OWN_SHARE or any(_one_tip(rows[k], row) for row in kept)):
            continue
        kept.append(rows[k])
    return kept


def _one_tip(fit: RowFit, other: RowFit) -> bool:
    """Whether two rows end in the same tips: one then runs on from the other's tips along a third row's sides."""
    return fit.shape.between == other.shape.between and abs(fit.shape.tip_mm - other.shape.tip_mm) < UNLIKE_TIP_MM


def is_deep(fit: RowFit) -> bool:
    """Whether a petal is long enough, by the width of its base, to be no arc of a ring, and wide enough for two sides.

    Sides that lie nowhere farther apart than what is taken for the same stroke are one stroke along the axis.
    """
    middle = np.median(fit.numbers, axis=0)
    along = middle[1] - (middle[3] + middle[5]) / 2
    points, _ = sides(fit.shape, middle[None], _stations())
    apart = float((points[0, 0, :, 0] - points[0, 1, :, 0]).max())
    return bool(along > LEAST_DEPTH * abs(middle[2] - middle[4]) and apart > 2 * SAME_MM)


def _stations() -> Floats:
    return np.asarray(((np.arange(POINTS) + 0.5) / POINTS) ** 1.3, float)


def _gain(chalk: ChalkMap, fit: RowFit, level: float) -> Floats:
    """Length explained (POINTS,) along the mean side: chalk less what a bare panel would have needed."""
    points, normals = sides(fit.shape, fit.numbers, _stations())
    found, seen = evidence(chalk, fit.frame, points, normals)
    length = step_lengths(points)
    return np.asarray((worth(found, seen, level) * length).mean((0, 1)), float)


def _covered(one: RowShape, other: RowShape, half_rad: float) -> NDArray[np.bool_]:
    """Which points (POINTS,) of one outline run along the other's, in any segment and on either side."""
    points, normals = outline(one, _stations())
    # Its points lie nearer to each other than what counts as the same stroke.
    length = np.hypot(other.base_across_mm, other.tip_mm - other.base_along_mm)
    there, theirs = outline(other, np.linspace(0.001, 1, max(40, round(1.5 * length / SAME_MM))))
    places, across = [], []
    for angle in (np.arange(-2, 3) * 2 + other.between - one.between) * half_rad:
        c, s = np.cos(angle), np.sin(angle)
        turn = np.array([[c, -s], [s, c]])
        for side in (1, -1):
            places.append(there * (side, 1) @ turn)
            across.append(theirs * (side, 1) @ turn)
    p, n = (np.concatenate(part).astype(np.float32) for part in (places, across))
    mine = points.astype(np.float32)
    apart = (mine**2).sum(1)[:, None] + (p**2).sum(1) - 2 * mine @ p.T
    along = np.abs(normals.astype(np.float32) @ n.T) > np.float32(np.cos(np.radians(SAME_DEG)))
    return np.asarray(((apart < SAME_MM**2) & along).any(1), bool)


def _best_set(explained: _Explained) -> list[int]:
    """Beam search over sets: a row's gain counts only where no row before it explains the chalk."""
    count = len(explained.gain)
    readings: list[tuple[float, tuple[int, ...]]] = [(0.0, ())]
    best = readings[0]
    for _ in range(min(MOST_ROWS, count)):
        longer: dict[frozenset[int], tuple[float, tuple[int, ...]]] = {}
        for _, rows in readings:
            for i in set(range(count)) - set(rows):
                new = frozenset((*rows, i))
                if new not in longer:
                    longer[new] = (_total(explained, (*rows, i)), (*rows, i))
        readings = sorted(longer.values(), key=lambda one: -one[0])[:BEAM]
        if not readings or readings[0][0] <= best[0] - ROW_COST_MM:
            break
        best = max(best, readings[0], key=lambda one: one[0])
    return list(best[1])


def _total(explained: _Explained, rows: tuple[int, ...]) -> float:
    """What a set explains: shared chalk is shared out, so that nothing counts twice."""
    chosen = list(rows)
    share = 1 + explained.covered[np.ix_(chosen, chosen)].sum(1)
    gain = explained.gain[chosen]
    # Chalk explained by several counts once; a bare place counts against each.
    counted = np.where(gain > 0, gain / share, gain)
    return float(counted.sum() - ROW_COST_MM * len(chosen))
