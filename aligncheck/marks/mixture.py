"""The mixture of red, green and blue in which this chalk stands out best from this panel.

Blue pencil on wood, or red on ochre, is weak in grey while the wood's grain is strong. With the colour step d from
panel to chalk and the covariance C of the panel's own variation, weights w = C^-1 d separate the two best (Fisher, Ann.
Eugenics 7 (1936) 179).
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.marks.bows import GRAIN_MM
from aligncheck.marks.paths import Paths
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Weights of sRGB's red, green and blue in luma (ITU-R BT.601), as `Photo.grey` has them.
LUMA = (0.299, 0.587, 0.114)
#: Chalk's own grain scatters by about this part of its step, whatever the mixture.
GRAIN = 0.25
#: Grey is left for a mixture only where that takes this factor off all scatter: colour is coded at half resolution in
#: most photos, so that a mixture blurs.
WORTH = 1.12
#: Colour needs strokes this many pixels wide: two samples of it across.
LEAST_PX = 4.5
#: Part of the mean variance added to every channel's: noise that 8-bit codes do not show.
STEADY = 0.02
#: Beyond this many deviations a row shows something that lies there, not the panel; the grain of wood has long tails.
OUTLYING = 10.0
#: Fewer rows than this tell no colour.
LEAST_ROWS = 40
#: The panel's variation is judged by means over pieces of this length, mm, if there are so many.
PIECE_MM, LEAST_PIECES = 8.0, 20


def best_mixture(
    rgb: NDArray[np.uint8], panel: Panel, paths: Paths, drawn: Bools, width_mm: float
) -> tuple[float, float, float]:
    """Weights of red, green and blue, scaled so that a stroke's step is that of grey; `LUMA` where grey does.

    `drawn` (S, R) marks rows of `paths` that show the stroke alone.
    """
    if drawn.sum() < LEAST_ROWS or width_mm * float(panel.px_per_mm(paths.centre_mm)) < LEAST_PX:
        return LUMA
    flank = 0.5 * width_mm + 0.9
    offsets = np.array([-flank - 0.3, -flank, 0.0, flank, flank + 0.3])
    rows = paths.sample_colour(rgb, panel, offsets, drawn)
    left, right = rows[:, :2].mean(1), rows[:, 3:].mean(1)
    step = medians(rows[:, 2] - 0.5 * (left + right), 0)
    covariance = _variation(left - right, drawn, paths.step_mm)
    if covariance is None:
        return LUMA
    covariance += STEADY * np.trace(covariance) / 3 * np.eye(3) + 1e-3 * np.eye(3)
    weights = np.linalg.solve(covariance, step)
    luma = np.array(LUMA)
    if luma @ step == 0 or _scatter(luma, step, covariance) < WORTH * _scatter(weights, step, covariance):
        return LUMA
    scaled = weights * float(luma @ step) / float(weights @ step)
    return float(scaled[0]), float(scaled[1]), float(scaled[2])


def _variation(uneven: Floats, drawn: Bools, step_mm: float) -> Floats | None:
    """Covariance (3, 3) of what the panel differs by across a row, by rows (n, 3); None where they are too few.

    Chalk's grain is new every 1.5 mm, wood's runs on for centimetres: what is left of a panel's variation in the mean
    over a piece counts as many times more as the grain of chalk would have averaged out.
    """
    group = max(1, round(PIECE_MM / step_mm))
    spoke = np.nonzero(drawn)[0]
    ends = np.searchsorted(spoke, np.arange(len(drawn) + 1))
    pieces = [
        uneven[at : at + group].mean(0) for start, end in pairwise(ends) for at in range(start, end - group + 1, group)
    ]
    if len(pieces) >= LEAST_PIECES:
        covariance = _covariance(np.array(pieces), LEAST_PIECES // 2)
        return None if covariance is None else covariance * max(1.0, group * step_mm / GRAIN_MM)
    return _covariance(uneven, LEAST_ROWS // 2)


def _covariance(values: Floats, fewest: int) -> Floats | None:
    """Of values (n, 3), without outlying ones; None where fewer are left."""
    usual = np.abs(values - medians(values, 0))
    kept = values[(usual < OUTLYING * 1.4826 * medians(usual, 0) + 1).all(1)]
    return np.asarray(np.cov(kept.T), float) if len(kept) >= fewest else None


def _scatter(weights: Floats, step: Floats, covariance: Floats) -> float:
    """Scatter of chalk and panel together in units of a stroke's step."""
    panel = float(weights @ covariance @ weights) / float(weights @ step) ** 2
    return float(np.sqrt(GRAIN**2 + panel))
