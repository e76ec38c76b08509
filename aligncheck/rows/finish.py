"""Chosen rows measured: where the chalk ends, the shape they share, and every petal with that shape."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.fit import TIP_ACROSS_SD_MM, TIP_ALONG_SD_MM, WINDOWS_MM, RowFit, explained, rounds, sides
from aligncheck.rows.strips import Side, Strip, base_share, best_sides, first_side, strip_of
from aligncheck.rows.tails import tail_mm
from aligncheck.rows.under import common_sd_mm, under_spokes

Floats = NDArray[np.float64]

#: Bases are moved where the chalk ends this much of the chord before them.
TRIM = 0.04
#: A row's common tip is tried where these shares of the tips found lie farther in.
TIP_SHARES = (0.5, 0.15, 0.85)


def finish_rows(chalk: ChalkMap, fits: Sequence[RowFit]) -> list[RowFit]:
    """Measure rows that were found roughly."""
    if not fits:
        return []
    trimmed = [_trimmed(chalk, fit) for fit in fits]
    strips = [strip_of(chalk, fit) for fit in trimmed]
    shared = best_sides(strips, [fit.shape.bow for fit in trimmed])
    shaped = [
        _every_petal(
            chalk, replace(fit, shape=replace(fit.shape, bow=tuple(side.bow)), numbers=_moved(fit, strip, side))
        )
        for fit, strip, side in zip(trimmed, strips, shared, strict=True)
    ]
    return [_told(fit) for fit in _with_tails(chalk, shaped)]


def _told(fit: RowFit) -> RowFit:
    """The row with its shape's tip and base as its petals have them."""
    middle = np.median(fit.numbers, axis=0)
    across, along = (middle[2] - middle[4]) / 2, (middle[3] + middle[5]) / 2
    shape = replace(fit.shape, tip_mm=float(middle[1]), base_across_mm=float(across), base_along_mm=float(along))
    return replace(fit, shape=shape)


def _every_petal(chalk: ChalkMap, fit: RowFit) -> RowFit:
    """Every petal with the row's shape, from where it was found or from where the row's tips lie, as chalk supports.

    Slender sides fit at two lengths: petals found at both say by all of their chalk which is the row's.
    """
    found = rounds(chalk, fit.frame, fit.shape, fit.numbers, WINDOWS_MM[1:], shape_free=False)
    return max((_from_one_tip(chalk, found, share) for share in TIP_SHARES), key=lambda one: one[0])[1]


def _from_one_tip(chalk: ChalkMap, found: RowFit, share: float) -> tuple[float, RowFit]:
    """What the row explains, mm, and its petals, if this share of the tips found lies farther in than the row's."""
    middle = np.repeat(np.median(found.numbers, axis=0)[None], len(found.numbers), 0)
    middle[:, 0:2] = 0.0, np.quantile(found.numbers[:, 1], share)
    usual = rounds(chalk, found.frame, found.shape, middle, WINDOWS_MM, shape_free=False)
    at_once, as_found = _held(chalk, usual, middle), _held(chalk, found, middle)
    better = at_once > as_found
    row = replace(
        found,
        numbers=np.where(better[:, None], usual.numbers, found.numbers),
        support=np.where(better[:, None], usual.support, found.support),
        covariance=np.where(better[:, None, None], usual.covariance, found.covariance),
    )
    return float(np.maximum(at_once, as_found).sum()), row


def _held(chalk: ChalkMap, fit: RowFit, middle: Floats) -> Floats:
    """What each petal explains, mm, less what its tip's distance from the row's middle makes unlikely."""
    away = (fit.numbers[:, :2] - middle[:, :2]) / (TIP_ACROSS_SD_MM, TIP_ALONG_SD_MM)
    return explained(chalk, fit, 2 * len(WINDOWS_MM) * 4).sum((1, 2)) - np.log1p((away**2).sum(1))


def _with_tails(chalk: ChalkMap, fits: Sequence[RowFit]) -> list[RowFit]:
    """Tips at the end of the stroke that both sides share; under spokes where the chalk on these thins out."""
    return [_with_tail(chalk, fit, [other for other in fits if other is not fit]) for fit in fits]


def _with_tail(chalk: ChalkMap, fit: RowFit, others: Sequence[RowFit]) -> RowFit:
    spoke_mm = median([width for _, _, width in chalk.spokes]) if chalk.spokes else 0.0
    tail, sd, hidden = tail_mm(chalk, fit), common_sd_mm(fit, spoke_mm), 0.0
    if tail is None:
        # Lines are drawn towards the spoke's from where they touch it on.
        tail, sd = under_spokes(chalk, fit, others, common_sd_mm(fit, 2 * spoke_mm)) or (0.0, sd)
        hidden = max(tail, 0.0)
    axis = fit.numbers[:, 0:2] - (fit.numbers[:, 2:4] + fit.numbers[:, 4:6]) / 2
    numbers = fit.numbers.copy()
    numbers[:, 0:2] += tail * axis / np.linalg.norm(axis, axis=1, keepdims=True)
    return replace(fit, numbers=numbers, common_sd_mm=sd, hidden_mm=hidden)


def _trimmed(chalk: ChalkMap, fit: RowFit) -> RowFit:
    """The row with its bases where the chalk ends."""
    strip = strip_of(chalk, fit)
    share = base_share(strip, first_side(strip, fit.shape.bow))
    if share > 1 - TRIM:
        return fit
    points, _ = sides(fit.shape, fit.numbers, np.array([share]))
    numbers = fit.numbers.copy()
    numbers[:, 2:6] = points[:, :, 0].reshape(-1, 4)
    numbers[:, 6:8] = 0
    return rounds(chalk, fit.frame, fit.shape, numbers, WINDOWS_MM[1:])


def _moved(fit: RowFit, strip: Strip, side: Side) -> Floats:
    """Tips moved along the axes and bases along the sides, as the row's common side says."""
    numbers = fit.numbers.copy()
    chord = np.stack([fit.numbers[:, 2:4], fit.numbers[:, 4:6]], 1) - fit.numbers[:, None, 0:2]
    stretch = np.linalg.norm(chord, axis=-1, keepdims=True) / strip.length_mm
    along = chord / np.linalg.norm(chord, axis=-1, keepdims=True)
    out = np.stack([-along[..., 1], along[..., 0]], -1) * np.array([1.0, -1.0])[:, None]
    bases = fit.numbers[:, None, 0:2] + stretch * (side.base[0] * along + side.base[1] * out)
    numbers[:, 2:6] = bases.reshape(-1, 4)
    numbers[:, 1] += float(-side.tip @ strip.inward)
    return numbers
