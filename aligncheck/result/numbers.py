"""Numbers and points as the result file holds them."""

import math
from typing import Any

#: Decimals kept: a ten-thousandth of a millimetre, degree or pixel is far below any uncertainty.
DECIMALS = 4


def number(value: float | None, decimals: int = DECIMALS) -> float | None:
    """A finite number rounded, or None."""
    return None if value is None or not math.isfinite(value) else round(float(value), decimals)


def pair(point: Any) -> list[float | None]:
    """A point as [x, y]."""
    return [number(float(point[0])), number(float(point[1]))]
