"""Groups of like things by average linkage."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def average_linkage(apart: Floats, most: float) -> NDArray[np.int64]:
    """The group (n,) of each thing, numbered from 0: groups join while their members are nearer than `most` on average.

    Parameters
    ----------
    apart : ndarray (n, n)
        Distances, the same both ways.
    """
    # Only photos of painted pieces get here: others need not wait for SciPy.
    from scipy.cluster.hierarchy import fcluster, linkage
    from scipy.spatial.distance import squareform

    if len(apart) < 2:
        return np.zeros(len(apart), np.int64)
    tree = linkage(squareform(apart, checks=False), "average")
    return np.asarray(fcluster(tree, most, "distance"), np.int64) - 1
