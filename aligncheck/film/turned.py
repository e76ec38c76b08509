"""Whether the panel lay turned by quarters between two photos, as the pictures themselves tell it."""

import cv2
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]

SMALL_PX = 96
#: What is larger than this share of the picture is light, not drawing.
COARSE = 0.12


def likely_quarters(rgb: Bytes, onto: Bytes) -> int:
    """Quarter turns clockwise that make one flat view most like another; 0 where none is better than none."""
    first, other = _drawing(onto), _drawing(rgb)
    likeness = [float((first * np.rot90(other, -q)).mean()) for q in range(4)]
    best = int(np.argmax(likeness))
    return best if likeness[best] > 1.02 * likeness[0] else 0


def _drawing(rgb: Bytes) -> NDArray[np.float32]:
    """A small picture without the large-scale light, of mean 0 and variance 1."""
    grey = cv2.cvtColor(cv2.resize(rgb, (SMALL_PX, SMALL_PX), interpolation=cv2.INTER_AREA), cv2.COLOR_RGB2GRAY)
    light = grey.astype(np.float32)
    light -= cv2.GaussianBlur(light, (0, 0), COARSE * SMALL_PX)
    return np.asarray((light - light.mean()) / (light.std() + 1e-6), np.float32)
