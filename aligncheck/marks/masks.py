"""Which rows of a spoke show the spoke alone: rings, neighbours and other lines cross or run beside it."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import clockwise, outward
from aligncheck.geometry.small import median, nanmedians
from aligncheck.marks.paths import Paths
from aligncheck.marks.rows import flank_reach

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


#: A side that differs from the other by this many times what is usual, and by this part of a stroke, loses its row
#: three quarters of its weight.
UNEVEN, LEAST_UNEVEN = 4.0, 0.08


class Stretch(NamedTuple):
    """A straight line that other strokes may meet, drawn from `start_mm` to `end_mm`.

    `own`: index of the spoke that it is, or -1 for lines that are none. `sd_mm`: how well it is known. `faint`:
    too little chalk to be told from the spoke where they overlap.
    """

    start_mm: Floats
    end_mm: Floats
    own: int = -1
    sd_mm: float = 0.3
    faint: bool = False


def off_rings(paths: Paths, radii_mm: Floats, width_mm: float) -> Bools:
    """Rows (S, R) clear of rings near `radii_mm`, which are known to some tenths of a millimetre."""
    radius = np.hypot(paths.along_mm, paths.miss_mm[:, None])
    gap = np.abs(radius[..., None] - np.asarray(radii_mm, float)).min(2, initial=np.inf)
    return gap > 0.3 + 0.3 + 0.45 * width_mm


def beside_lines(paths: Paths, lines: tuple[Stretch, ...], width_mm: float) -> tuple[Bools, Bools]:
    """Rows (S, R) that another spoke comes near, and rows that any other line comes near.

    A line is near where its chalk would fall into the row's window or flanks.
    """
    reach = flank_reach(width_mm) + 0.5 * width_mm + 0.1
    crowded, beside = np.zeros(paths.bend_mm.shape, bool), np.zeros(paths.bend_mm.shape, bool)
    along, starts = outward(paths.angle_deg), paths.centre_mm + paths.miss_mm[:, None] * clockwise(paths.angle_deg)
    for line in lines:
        length = float(np.hypot(*(line.end_mm - line.start_mm)))
        direction = (line.end_mm - line.start_mm) / length
        away = np.abs(paths.offsets_of(line.start_mm, line.end_mm) - paths.bend_mm)
        at = ((starts - line.start_mm) @ direction)[:, None] + paths.along_mm * (along @ direction)[:, None]
        near = (away < reach) & (at > -1.0) & (at < length + 1.0)
        if line.own >= 0:
            near[line.own] = False
            crowded |= near
        else:
            beside |= near
    return crowded, beside


def even_base(base: Floats, unit: float) -> Bools:
    """Rows (S, R) whose bare flanks are as the panel beside the stroke usually is.

    Something bright or dark across the flanks (a ring, a smudge, a thing lying there) makes the row worthless.
    """
    usual = nanmedians(base)[:, None]
    return np.abs(base - usual) < 0.35 * unit


def even_sides(values: Floats, offsets_mm: Floats, width_mm: float, alone: Bools) -> Floats:
    """Weights (S, R) of rows (S, R, M) by how alike the panel is on both sides of the stroke.

    A wiped line or a smudge on one side pulls the stroke towards it. What counts as uneven is what few rows are.
    """
    near, far = 0.5 * width_mm + 0.3, 0.5 * width_mm + 1.2
    right = (offsets_mm >= near) & (offsets_mm <= far)
    left = (offsets_mm <= -near) & (offsets_mm >= -far)
    uneven = values[..., right].mean(2) - values[..., left].mean(2)
    usual = uneven[alone & np.isfinite(uneven)]
    if not len(usual):
        return np.ones(uneven.shape)
    middle = median(usual)
    spread = 1.4826 * median(np.abs(usual - middle))
    return 1 / (1 + (np.nan_to_num(uneven - middle) / max(UNEVEN * spread, LEAST_UNEVEN)) ** 2) ** 2
