"""Rings in a chalk of their own: faint in the grey that all marks are read in, plain in their own colour.

A wiped ring is a thin film of the same chalk: its colour steps from the panel's towards that of the other rings. A ring
in another chalk steps elsewhere, and as far.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import quantile
from aligncheck.marks.ring_choice import CHALK
from aligncheck.marks.ring_fit import RingPath
from aligncheck.marks.sampling import sample_rows
from aligncheck.panel import Panel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: A colour of its own leaves the usual chalk's by this part of the usual chalk's step from the panel.
OWN_HUE = 0.2
#: A stroke steps from both sides alike, a rim from one: the lesser step is at least this part of the mean.
BOTH_SIDES = 0.6
#: Fewer rows say nothing of a colour.
LEAST_ROWS = 30


def colour_step(photo: Photo, panel: Panel, path: RingPath, width_mm: float) -> Floats:
    """Red, green and blue of the rows of a fitted ring less those of the panel on either side: (n, 2, 3), free rows."""
    if path.free is None or path.free.sum() < LEAST_ROWS:
        return np.zeros((0, 2, 3))
    flank = 0.5 * width_mm + 0.7
    points, normals = path.points()
    rows = sample_rows(photo.rgb, panel, points[path.free], normals[path.free], [-flank, 0.0, flank])
    return np.asarray(rows[:, 1:2] - rows[:, ::2], float)


def own_strength(step: Floats, usual: Floats) -> float:
    """Mean chalk of a ring (1 for an unbroken one) whose rows' colours step by `step` (n, 2, 3), in its own colour.

    Nought where that is no colour of its own beside the `usual` step (3,) of this photo's rings, or a rim.
    """
    size = float(np.linalg.norm(usual))
    if len(step) < LEAST_ROWS or size == 0:
        return 0.0
    inward, outward = step.mean(0)
    mean = (inward + outward) / 2
    aside = mean - (mean @ usual) * usual / size**2
    if np.linalg.norm(aside) < OWN_HUE * size:
        return 0.0
    if min(inward @ mean, outward @ mean) < BOTH_SIDES * (mean @ mean):
        return 0.0
    height = step.mean(1) @ mean / float(np.linalg.norm(mean))
    chalk = height / max(float(quantile(height, 0.9)), 1e-6)
    return float(np.clip(chalk, -CHALK, 1.0).mean())
