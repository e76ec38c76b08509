"""Cross products, medians and quantiles of small arrays: NumPy's own check and shuffle axes for longer than that.

A full sort is vectorised and so is a partition about one place; about two (which is how NumPy takes medians) it is not:
ten times as slow. NumPy's own quantiles and sets load masked arrays first, a fiftieth of the time of a whole check.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: More numbers than this are not small any more: parting them is faster than sorting.
MANY = 500


def cross(a: Floats, b: Floats) -> Floats:
    """Cross products of vectors (..., 3) along the last axis, each rounded as numpy.cross does."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    u, v, w = b[..., 0], b[..., 1], b[..., 2]
    first = y * w - z * v
    out = np.empty((*first.shape, 3))
    out[..., 0] = first
    np.subtract(z * u, x * w, out=out[..., 1])
    np.subtract(x * v, y * u, out=out[..., 2])
    return out


def median(values: NDArray[Any] | Sequence[float]) -> float:
    """The median of all values, none of them NaN; NaN where there are none."""
    flat = np.asarray(values).ravel()
    return float(medians(flat)) if len(flat) else float("nan")


def medians(values: NDArray[Any], axis: int = -1) -> NDArray[Any]:
    """Medians of values (...) along one axis, at least one each and none of them NaN, as numpy.median's."""
    count = values.shape[axis]
    middle = count // 2
    few = count <= MANY
    # Along rows in memory: along any other axis each is gathered number by number.
    values = values if axis == -1 else np.ascontiguousarray(np.moveaxis(values, axis, -1))
    ordered = np.sort(values, axis=-1) if few else np.partition(values, middle, axis=-1)
    upper = ordered[..., middle]
    if count % 2:
        return np.asarray(upper)
    lower = ordered[..., middle - 1] if few else ordered[..., :middle].max(-1)
    return np.asarray(lower / 2 + upper / 2)  # their sum would be too large for eight bits


def weighted_median(values: Floats, weights: Floats) -> float:
    """The value (n,) up to which half of the weight (n,) lies; the least where all weigh nothing."""
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(share, share[-1] / 2)])


def quantile(values: NDArray[Any], share: float, axis: int = -1, alike: bool = False) -> NDArray[Any]:
    """The quantile 0..1 of values (...) along one axis, none of them NaN, linear between values as numpy.quantile's.

    `alike` says that many values are equal (nothing where nothing is seen): parting those is slower than sorting all.
    """
    values = values if axis == -1 else np.moveaxis(values, axis, -1)
    place = share * (values.shape[-1] - 1)
    below = int(place)
    parted = np.sort(values, axis=-1) if alike else np.partition(values, below, axis=-1)
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
