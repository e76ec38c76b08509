"""Cross products, medians and quantiles of small arrays: NumPy's own check and shuffle axes for longer than that.

A full sort is vectorised and so is a partition about one place; about two (which is how NumPy takes medians) it is not:
ten times as slow. NumPy's own quantiles and sets load masked arrays first, a fiftieth of the time of a whole check.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: More numbers than this are not small any more: NumPy's own way is faster.
MANY = 500


def cross(a: Floats, b: Floats) -> Floats:
    """Cross products of vectors (..., 3) along the last axis, each rounded as numpy.cross does."""
    x, y, z = (a[..., k] for k in range(3))
    u, v, w = (b[..., k] for k in range(3))
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def median(values: NDArray[np.floating]) -> float:
    """The median of values (n,), n at least 1, none of them NaN."""
    if len(values) > MANY:
        return float(np.median(values))
    ordered = np.sort(values)
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return float(ordered[middle])
    return float((ordered[middle - 1] + ordered[middle]) / 2)


def medians(values: NDArray[Any], axis: int = -1) -> NDArray[Any]:
    """Medians of values (...) along one axis, none of them NaN, as numpy.median's."""
    if values.shape[axis] > MANY:
        return np.asarray(np.median(values, axis=axis))
    ordered = np.moveaxis(np.sort(values, axis=axis), axis, -1)
    middle = ordered.shape[-1] // 2
    if ordered.shape[-1] % 2:
        return np.asarray(ordered[..., middle])
    return np.asarray((ordered[..., middle - 1] + ordered[..., middle]) / 2)


def weighted_median(values: Floats, weights: Floats) -> float:
    """The value (n,) up to which half of the weight (n,) lies; the least where all weigh nothing."""
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(share, share[-1] / 2)])


def quantile(values: NDArray[Any], share: float, axis: int = -1) -> NDArray[Any]:
    """The quantile 0..1 of values (...) along one axis, none of them NaN, linear between values as numpy.quantile's."""
    values = np.moveaxis(values, axis, -1)
    place = share * (values.shape[-1] - 1)
    below = int(place)
    parted = np.partition(values, below, axis=-1)
    low = parted[..., below]
    if place == below:
        return np.asarray(low)
    return np.asarray(low + (parted[..., below + 1 :].min(-1) - low) * (place - below))


def nanmedians(values: NDArray[Any]) -> NDArray[Any]:
    """Medians (...) of the numbers among values (..., n) along the last axis; NaN where there are none."""
    ordered = np.sort(values, axis=-1)  # NaN last
    count = np.asarray((~np.isnan(values)).sum(-1))
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, values.shape[-1] - 1)
    pair = np.take_along_axis(ordered, np.stack([low, high], axis=-1), axis=-1)
    return np.asarray((pair[..., 0] + pair[..., 1]) / 2)


def distinct(values: NDArray[np.floating]) -> Floats:
    """The different numbers among values (n,), rising; numpy.unique loads a package of its own first."""
    return np.array(sorted(set(values.tolist())), float)
