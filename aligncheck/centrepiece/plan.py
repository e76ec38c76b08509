"""From the silhouette on the panel's face to the plan: a point h above the face is seen beside its own place."""

import numpy as np
from numpy.typing import ArrayLike

from aligncheck.centrepiece.window import Floats


def plan_of(seen_mm: ArrayLike, camera_mm: Floats, height_mm: float) -> Floats:
    """Where points seen at `seen_mm` (..., 2) on the face lie, seen from above, if they are `height_mm` above it.

    The sight line from the camera C through the point meets the face at q; at height h it stands over
    C + (q - C) (1 - h / Cz).
    """
    foot = camera_mm[:2]
    return np.asarray(foot + (np.asarray(seen_mm, float) - foot) * (1 - height_mm / camera_mm[2]), float)


def seen_at(plan_mm: ArrayLike, camera_mm: Floats, height_mm: float) -> Floats:
    """The other way: where points (..., 2) at `height_mm` are seen on the face."""
    foot = camera_mm[:2]
    return np.asarray(foot + (np.asarray(plan_mm, float) - foot) / (1 - height_mm / camera_mm[2]), float)
