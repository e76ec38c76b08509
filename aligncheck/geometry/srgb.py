"""The curve and the luminance of sRGB (IEC 61966-2-1)."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Real = TypeVar("Real", bound=np.floating)

#: Weights of linear red, green and blue in luminance.
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


def linear(codes: NDArray[Real]) -> NDArray[Real]:
    """Linear light (...) of codes (...), both 0 to 1."""
    return np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)


def coded(light: NDArray[Real]) -> NDArray[Real]:
    """Codes (...) of linear light (...), both 0 to 1."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 0.0031308) ** (1 / 2.4) - 0.055)
