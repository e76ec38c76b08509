"""The colour difference CIEDE2000 (Sharma, Wu & Dalal 2005), with all weights 1."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def ciede2000(one: ArrayLike, other: ArrayLike) -> Floats:
    """Differences (...) of CIELAB colours (..., 3)."""
    # Only photos of painted or repeating pieces get here: others need not wait for scikit-image.
    from skimage.color import deltaE_ciede2000

    return np.asarray(deltaE_ciede2000(*np.broadcast_arrays(np.asarray(one, float), np.asarray(other, float))), float)
