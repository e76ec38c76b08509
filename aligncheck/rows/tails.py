"""Where chalk ends at the tip: how far a row's common stroke goes on, as in an ogee, and which petals stop before."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.fit import RowFit, evidence, sides

Floats = NDArray[np.float64]

#: The axis is looked along so far beyond the point where the sides meet, mm, in such steps.
FARTHEST_MM, STEP_MM = 6.0, 0.25
#: Places hidden by known lines more than this say nothing; this share of the petals must show a place.
SEEN, LEAST_SHOWN = 0.6, 0.4
#: Share of a full stroke below which the stroke has ended.
ENDED_SHARE = 0.5
#: A stroke's evidence falls to half of its own so far beyond its end, mm: its ridge was smoothed (computed for ends
#: without caps and widths from 0.5 to 1.3 mm: 0.15 to 0.23).
BEYOND_END_MM = 0.18
#: Two sides that cross make a common blot; a stroke goes on beyond it from this length on, mm.
BLOT_MM = 0.35
#: The strokes of a hand waver so far beside their middle, mm.
WAVER_MM = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
#: A petal ends before its fitted tip where chalk is missing over more than this, mm: half of what makes a petal short;
#: less is how strokes thin out. Seen bare must be more of it than seen chalk by this, mm, about what a stroke is wide.
EARLY_MM, BARE_MM = 2.0, 0.8
#: It is looked for over this share of the sides.
LOOKED_AT = 0.5


def tail_mm(chalk: ChalkMap, fit: RowFit) -> float | None:
    """Length of the common stroke beyond the fitted tips of a row; zero where the sides end in a point.

    None where known lines hide the axis.
    """
    tip = fit.numbers[:, 0:2]
    axis = tip - (fit.numbers[:, 2:4] + fit.numbers[:, 4:6]) / 2
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    beyond = np.arange(0, FARTHEST_MM, STEP_MM)
    points = tip[:, None] + beyond[:, None] * axis[:, None]
    across = np.broadcast_to(np.stack([axis[:, 1], -axis[:, 0]], -1)[:, None], points.shape)
    spread = points[:, :, None] + WAVER_MM[:, None] * across[:, :, None]
    found, seen = evidence(chalk, fit.frame, spread, np.broadcast_to(across[:, :, None], spread.shape))
    found, seen = found.max(-1), seen.min(-1)
    shown = seen > SEEN
    enough = shown.mean(0) >= LEAST_SHOWN
    if not enough[: round(2 * BLOT_MM / STEP_MM) + 1].all():
        return None
    share = (found * shown).sum(0) / np.maximum(shown.sum(0), 1) / max(float(fit.support.mean()), 0.3)
    gain = np.where(enough, share - ENDED_SHARE, 0.0)
    best = int(np.cumsum(gain).argmax())
    if gain[: best + 1].sum() <= 0 or best + 1 == len(beyond):
        return 0.0
    # Between the last place above the share and the next.
    fall = max(float(share[best] - share[best + 1]), 1e-9)
    end = float(beyond[best]) + STEP_MM * float(np.clip((share[best] - ENDED_SHARE) / fall, 0, 1))
    length = end - BEYOND_END_MM
    return length if length > BLOT_MM else 0.0


def ends(chalk: ChalkMap, fit: RowFit) -> Floats:
    """Tips (petals, 2) where the chalk ends, for petals that stop before the tip that their sides would have.

    Sides that run together so gently that they touch for millimetres say little about where they end: all petals of a
    row seem alike then, the one drawn short too. What the row's common tip was moved out under a spoke no petal shows.
    """
    t = np.linspace(0.004, LOOKED_AT, 124)
    points, normals = sides(fit.shape, fit.numbers, t)
    spread = points[..., None, :] + 1.5 * WAVER_MM[:, None] * normals[..., None, :]
    found, seen = evidence(chalk, fit.frame, spread, np.broadcast_to(normals[..., None, :], spread.shape))
    shown = seen.min(-1) > SEEN
    share = found.max(-1) / max(float(fit.support.mean()), 0.3)
    middle = points.mean(1)
    step = np.hypot(*np.moveaxis(np.diff(middle, axis=1, prepend=middle[:, :1]), -1, 0))
    gain = np.cumsum(((np.minimum(share, 1.0) - ENDED_SHARE) * shown).mean(1) * step, axis=1)
    tips = fit.numbers[:, 0:2].copy()
    for k, start in enumerate(gain.argmin(1)):
        length = float(step[k, : start + 1].sum())
        if length > EARLY_MM + fit.hidden_mm and -gain[k, start] > ENDED_SHARE * BARE_MM:
            tips[k] = middle[k, start]
    return tips
