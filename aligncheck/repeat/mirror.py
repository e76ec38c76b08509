"""Is a segment its own mirror image, as most petals and dotted runs are? Then both flanks speak for one another."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Kind = TypeVar("Kind", bound=np.generic)

#: From this likeness of a segment and its mirror image on the design counts as mirrored. Hands make 0.8 and more of
#: mirrored designs, and half at most of what turns one way.
LEAST_LIKENESS = 0.65


@dataclass(frozen=True)
class Mirror:
    """How alike a segment is to its mirror image, 0 to 1, about the ray at `axis_deg` in the first segment.

    `twice` is the sum of the two columns that are each other's image, in steps of the unrolled picture.
    """

    likeness: float
    axis_deg: float
    twice: int

    @property
    def mirrored(self) -> bool:
        """Whether the design is its own mirror image."""
        return self.likeness >= LEAST_LIKENESS

    def reflected(self, ring: NDArray[Kind]) -> NDArray[Kind]:
        """A picture of whole rings (radii, steps, ...) seen in the mirror."""
        steps = ring.shape[1]
        return ring[:, (self.twice - np.arange(steps)) % steps]


def find_mirror(consensus: Singles, radii_mm: Floats, columns_deg: float) -> Mirror:
    """Find the ray about which one segment's consensus (radii, columns, 3) is most like its mirror image."""
    columns = consensus.shape[1]
    change = consensus - consensus.mean(1, keepdims=True)
    weighted = change * np.sqrt(radii_mm)[:, None, None]
    spectrum = np.fft.fft(weighted, axis=1)
    # Likeness of f(j) and f(s - j), for every s: the convolution of f with itself.
    likeness = np.fft.ifft((spectrum**2).sum((0, 2))).real / max(float((weighted**2).sum()), 1e-9)
    best = int(likeness.argmax())
    # Columns stand half a step off the first ray.
    axis = (best + 1) / 2 * columns_deg % (columns * columns_deg / 2)
    return Mirror(float(likeness[best]), float(axis), best)
