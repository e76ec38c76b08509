"""Rings as they are read, with ovals."""

import numpy as np

from aligncheck.marks import Waves

READ_MM = 0.006


def waves(oval: np.ndarray | tuple[float, float] = (0.0, 0.0), hand_mm: float = 0.005) -> Waves:
    """The waves of a ring with this oval, read to `READ_MM`, by a hand whose finer waves are of `hand_mm`."""
    return Waves(np.array([*oval, *np.zeros(8)]), np.asarray(oval, float), READ_MM**2 * np.eye(2), hand_mm)
