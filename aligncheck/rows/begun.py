"""Rows of which only some petals are traced: where chalk is left over, segment by segment."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import STRAY_MM, ChalkMap
from aligncheck.rows.drawn import WIDE_MM, drawn, without
from aligncheck.rows.finish import finish_rows
from aligncheck.rows.fit import Frame, RowFit, evidence, fit_quickly, frame_of, sides
from aligncheck.rows.fold import INNERMOST_MM, fold_some
from aligncheck.rows.search import SHORTEST_MM, likely_rows, stroke_level
from aligncheck.rows.sets import LEAST_FREE, choose_rows, distinct, free_share

Floats = NDArray[np.float64]
Places = NDArray[np.int64]

#: Every so many pixels of the map are looked at: a stroke is three across.
SPARSE = 2
#: Chalk is evidence of so much and more.
CHALK = 0.3
#: The sides of the shortest petal that is looked for, less what known lines hide of them, mm.
LEAST_MM = 1.5 * SHORTEST_MM
#: Segments without petals show this one's length at most: a quarter of them at least is bare where a row is not whole.
BARE_PERCENTILE = 20
#: A segment has a petal where it shows this share of what the fullest ones show.
PETAL_SHARE = 0.3
#: Chalk along the weaker side of a petal that was traced, 0 to 1, and as a share of the row's best.
LEAST_SUPPORT, SUPPORT_SHARE = 0.42, 0.6
#: Each side in so many parts, of which all but one show at least so much chalk; and how much of them can be seen.
PARTS, LEAST_PART, LEAST_SEEN = 8, 0.25, 0.6


def begun_rows(
    chalk: ChalkMap,
    rows: Sequence[RowFit],
    centre_mm: Floats,
    rotation_deg: float,
    segments: int,
    outermost_mm: float,
) -> list[RowFit]:
    """Measure rows that only some segments have, beside `rows` that are known."""
    half = np.pi / segments
    places = left_over(chalk, rows, centre_mm, rotation_deg, segments, outermost_mm)
    if not any(0 < len(where) < segments for where in places):
        return []
    bare = without(chalk, rows) if rows else chalk
    soft = bare.blurred(STRAY_MM)
    frames: dict[float, Frame] = {}
    sectors = []
    for between, where in zip((0.0, 1.0), places, strict=True):
        if 0 < len(where) < segments:
            frames[between] = frame = frame_of(centre_mm, segments, rotation_deg, between, where)
            rays = np.arctan2(frame.outward[:, 0], -frame.outward[:, 1])
            sectors.append(fold_some(soft, centre_mm, rays, half, between, outermost_mm))
    likely = [fit_quickly(bare, soft, frames[s.between], s) for s in likely_rows(sectors, stroke_level(sectors))]
    likely = [fit for fit in likely if free_share(fit.shape, rows, half) > LEAST_FREE]
    likely = [traced for fit in likely if (traced := _traced(fit)) is not None]
    chosen = [likely[k] for k in choose_rows(chalk, likely, half)]
    found = distinct(chalk, finish_rows(chalk, chosen), half)
    return [fit for fit in found if _shows(chalk, fit) and not any(_beside(fit, row) for row in rows)]


def _shows(chalk: ChalkMap, fit: RowFit) -> bool:
    """Whether chalk lies along nearly every part of both sides, and these can be seen: few petals may be chance."""
    points, normals = sides(fit.shape, fit.numbers, (np.arange(6 * PARTS) + 0.5) / (6 * PARTS))
    found, seen = evidence(chalk, fit.frame, points, normals).reshape(2, len(fit.numbers), 2 * PARTS, 6).sum(-1)
    weak = np.sort(found / np.maximum(seen, 1e-6), axis=1)[:, 1]
    return bool(np.median(weak) > LEAST_PART and seen.mean() > LEAST_SEEN * 6)


def _beside(fit: RowFit, row: RowFit) -> bool:
    """Whether a row's petals would end by the tips of another's on the same axes: nobody traces that."""
    same = fit.shape.between == row.shape.between and np.isin(fit.frame.places, row.frame.places).any()
    return bool(same and abs(fit.shape.tip_mm - row.shape.tip_mm) < SHORTEST_MM)


def _traced(fit: RowFit) -> RowFit | None:
    """The row with those of its petals only that were traced; None where none was."""
    support = fit.support.min(1)
    there = support > max(LEAST_SUPPORT, SUPPORT_SHARE * float(np.max(support)))
    if not there.any():
        return None
    frame = Frame(fit.frame.centre_mm, fit.frame.outward[there], fit.frame.clockwise[there], fit.frame.places[there])
    return replace(
        fit, frame=frame, numbers=fit.numbers[there], support=fit.support[there], covariance=fit.covariance[there]
    )


def left_over(
    chalk: ChalkMap, rows: Sequence[RowFit], centre_mm: Floats, rotation_deg: float, segments: int, outermost_mm: float
) -> list[Places]:
    """Places on spokes and places between where strokes are left that no row explains, and elsewhere not.

    Returns
    -------
    list of ndarray
        On spokes, then between; empty where chalk is left nowhere or everywhere alike.
    """
    left = chalk.tensor[::SPARSE, ::SPARSE, 0] + chalk.tensor[::SPARSE, ::SPARSE, 2] > CHALK
    left &= ~drawn(chalk, rows, SPARSE)
    scale = chalk.px_per_mm / SPARSE
    y, x = np.nonzero(left)
    arm_x = (x - chalk.origin_px[0] / SPARSE) / scale - centre_mm[0]
    arm_y = (y - chalk.origin_px[1] / SPARSE) / scale - centre_mm[1]
    radius = np.hypot(arm_x, arm_y)
    within = (radius > INNERMOST_MM) & (radius < outermost_mm)
    turn = (np.degrees(np.arctan2(arm_x, -arm_y))[within] - rotation_deg) / (360.0 / segments)
    return [_places(np.floor(2 * turn - between + 1), segments, scale) for between in (False, True)]


def _places(halves: Floats, segments: int, scale: float) -> Places:
    """The places that show more than most by a petal's sides at least, as much on either side of their axis."""
    sides = np.bincount(halves.astype(np.int64) % (2 * segments), minlength=2 * segments).reshape(segments, 2)
    length = 2 * sides.min(1) / scale**2 / WIDE_MM
    length = length - np.percentile(length, BARE_PERCENTILE)
    # The second fullest, so that one segment full of something else does not hide the rest.
    fullest = float(np.sort(length)[-2])
    return np.flatnonzero(length > max(PETAL_SHARE * fullest, LEAST_MM))
