"""How much wider an interval must be when its standard deviation was itself estimated from few values."""

import numpy as np

from aligncheck.geometry.uncertainty import NORMAL_95


def widening(freedom: float) -> float:
    """Student's t over the normal deviate, both two-sided 95 %, for `freedom` degrees of freedom (1 or more).

    Exact for 1 and 2; from 3 on Hill's expansion (Comm. ACM 13 (1970) 617), right to 0.2 %.
    """
    if freedom < 1.5:
        return float(np.tan(0.475 * np.pi)) / NORMAL_95
    if freedom < 2.5:
        return float(0.95 * np.sqrt(2 / (1 - 0.95**2))) / NORMAL_95
    z, n = NORMAL_95, freedom
    t = (
        z
        + (z**3 + z) / (4 * n)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * n**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3)
        + (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / (92160 * n**4)
    )
    return t / NORMAL_95
