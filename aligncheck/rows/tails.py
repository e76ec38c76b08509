"""Where both sides run together before the tip, as in an ogee: how far their common stroke goes on."""

import numpy as np

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.fit import RowFit, evidence

#: The axis is looked along so far beyond the point where the sides meet, mm, in such steps.
FARTHEST_MM, STEP_MM = 6.0, 0.25
#: Places hidden by known lines more than this say nothing; this share of the petals must show a place.
SEEN, LEAST_SHOWN = 0.6, 0.4
#: Share of a full stroke below which the stroke has ended.
ENDED_SHARE = 0.5
#: Two sides that cross make a common blot that is this much longer than half a stroke's width at least.
BLOT_MM = 0.35


def tail_mm(chalk: ChalkMap, fit: RowFit, stroke_width_mm: float) -> float:
    """Length of the common stroke beyond the fitted tips of a row, zero where the sides end in a point.

    A stroke's chalk ends half its width beyond the end of its middle line.
    """
    tip = fit.numbers[:, 0:2]
    axis = tip - (fit.numbers[:, 2:4] + fit.numbers[:, 4:6]) / 2
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    beyond = np.arange(0, FARTHEST_MM, STEP_MM)
    points = tip[:, None] + beyond[:, None] * axis[:, None]
    across = np.broadcast_to(np.stack([axis[:, 1], -axis[:, 0]], -1)[:, None], points.shape)
    # The stroke of a hand wavers beside its middle.
    shifts = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
    spread = points[:, :, None] + shifts[:, None] * across[:, :, None]
    found, seen = evidence(chalk, fit.frame, spread, np.broadcast_to(across[:, :, None], spread.shape))
    found, seen = found.max(-1), seen.min(-1)
    shown = seen > SEEN
    enough = shown.mean(0) >= LEAST_SHOWN
    mean = (found * shown).sum(0) / np.maximum(shown.sum(0), 1)
    level = max(float(fit.support.mean()), 0.3)
    gain = np.where(enough, mean / level - ENDED_SHARE, 0.0) * STEP_MM
    total = np.cumsum(gain)
    best = int(total.argmax())
    if total[best] <= 0:
        return 0.0
    length = float(beyond[best]) - stroke_width_mm / 2
    return length if length > BLOT_MM else 0.0
