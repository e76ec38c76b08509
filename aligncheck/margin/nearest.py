"""Which of several things reaches nearest to a side, none of them known exactly: the distribution of the least.

The reading that happens to be least is no answer: among many doubtful ends some read too far out by chance, and as the
map moves by hundredths of a millimetre another one takes its place. The chance that the side is clear by more than m is
the product of the chances that each thing stays farther away than m; its median and the interval about that hold the
truth, and both change smoothly with every reading.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from aligncheck.margin.margin import Reacher

Floats = NDArray[np.float64]

#: Where the distribution is worked out: so many standard deviations to either side of the readings, so many steps.
FAR_SD, STEPS = 5.0, 2001
#: What the interval holds.
HELD = 0.95
#: The least standard deviation: a step of the distribution must not be narrower than its grid, mm.
LEAST_SD_MM = 1e-3


class Candidate(NamedTuple):
    """A thing that may reach out furthest: point (2,) mm, standard deviation across the side, what and which it is.

    Candidates of one `part` are readings of one thing, which err together: only the nearest of them counts.
    """

    point_mm: Floats
    sd_mm: float
    by: Reacher
    part: str


def least(clear_mm: Floats, sd_mm: Floats, parts: list[str]) -> tuple[float, float]:
    """Median of the least of the true distances, and half the width about it that holds 95 %.

    Parameters
    ----------
    clear_mm, sd_mm : ndarray (n,)
        Readings of the distances and their standard deviations.
    parts : list of str
        Readings of one part err together; parts are independent.
    """
    sd = np.maximum(sd_mm, LEAST_SD_MM)
    # What surely lies behind the surest of the near ones cannot be the least.
    near = clear_mm - FAR_SD * sd <= np.min(clear_mm + FAR_SD * sd)
    clear, sd = clear_mm[near], sd[near]
    grid = np.linspace(np.min(clear - FAR_SD * sd), np.min(clear + FAR_SD * sd), STEPS)
    beyond = ndtr((clear[:, None] - grid) / sd[:, None])
    names = np.array(parts)[near]
    farther = np.prod([beyond[names == name].min(axis=0) for name in np.unique(names)], axis=0)
    middle = float(np.interp(-0.5, -farther, grid))
    half = np.linspace(0.0, float(grid[-1] - grid[0]), STEPS)
    held = np.interp(middle - half, grid, farther) - np.interp(middle + half, grid, farther)
    return middle, float(half[int(np.searchsorted(np.maximum.accumulate(held), HELD))])
