"""Groups of like things by average linkage."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def average_linkage(apart: Floats, most: float) -> NDArray[np.int64]:
    """The group (n,) of each thing, numbered from 0: groups join while their members are nearer than `most` on average.

    By chains of nearest neighbours (Murtagh 1983), which end in the same tree as joining the nearest pair each time.

    Parameters
    ----------
    apart : ndarray (n, n)
        Distances, the same both ways.
    """
    n = len(apart)
    table = np.array(apart, float)
    np.fill_diagonal(table, np.inf)
    size = np.ones(n)
    group = np.arange(n)
    # Two that join beyond `most` end their chain for good: whatever joins them later lies farther still.
    left = n
    chain: list[int] = []
    while left > 1:
        if not chain:
            chain = [int(np.flatnonzero(size > 0)[0])]
        last = chain[-1]
        row = table[last]
        near = int(row.argmin())
        # Of several as near the one before in the chain, so that chains end.
        if len(chain) > 1 and row[chain[-2]] <= row[near]:
            near = chain[-2]
        if len(chain) < 2 or near != chain[-2]:
            chain.append(near)
            continue
        chain = chain[:-2]
        if row[near] <= most:
            group[group == last] = near
        mean = (size[last] * row + size[near] * table[near]) / (size[last] + size[near])
        size[near] += size[last]
        size[last] = 0
        table[near], table[:, near] = mean, mean
        table[near, near] = np.inf
        table[last], table[:, last] = np.inf, np.inf
        left -= 1
    return np.unique(group, return_inverse=True)[1]
