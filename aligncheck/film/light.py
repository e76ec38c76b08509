"""Even the light of a flat view, so that stages taken by a window and under a lamp can be compared.

The bare panel is the witness: in each cell of a grid the median pixel mostly shows it, and a smooth surface through the
cells, robust against those that paint or a centrepiece fills, is how the light fell. Dividing by it, in linear light
and for each colour channel, leaves the panel as even as paint is; the originals are not touched.
"""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.srgb import coded, linear

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

#: Cells across and down: enough for a surface of second order, each with enough pixels for a median.
CELLS = 12
#: Light never varies more than this over a panel that can be photographed; more is paint. As factors.
LEAST_GAIN, MOST_GAIN = 0.4, 2.5
#: Robust fit: residuals beyond so many robust standard deviations count for nothing (Tukey's biweight).
TUKEY, ROUNDS = 4.7, 6
#: Below this (linear, 0 to 1) a pixel is mostly noise.
DARKEST = 0.002


@dataclass(frozen=True)
class Light:
    """How the light falls on one flat view.

    `terms` (6, 3): of the logarithm of linear light over 1, x, y, x^2, x y, y^2 with x, y from -1 to 1 over the
    picture, for red, green and blue.
    """

    terms: Floats

    @property
    def level(self) -> Floats:
        """Logarithm (3,) of the light averaged over the panel."""
        return np.asarray(self.terms[0] + (self.terms[3] + self.terms[5]) / 3, float)


def see_light(rgb: Bytes) -> Light:
    """How the light falls on a flat view (h, w, 3); a small one will do."""
    linear = np.maximum(_LINEAR[rgb], DARKEST)
    height, width = linear.shape[:2]
    rows, columns = np.arange(CELLS + 1) * height // CELLS, np.arange(CELLS + 1) * width // CELLS
    cells = [
        np.median(linear[t:b, a:z].reshape(-1, 3), axis=0) for t, b in pairwise(rows) for a, z in pairwise(columns)
    ]
    at = (np.arange(CELLS) + 0.5) / CELLS * 2 - 1
    design = _design(np.tile(at, CELLS), np.repeat(at, CELLS))
    logs = np.log(np.array(cells))
    return Light(np.column_stack([_robust(design, logs[:, k]) for k in range(3)]))


def even_light(rgb: Bytes, light: Light, level: Floats) -> Bytes:
    """The picture as it would look with even light of `level` (3,), the logarithm of linear light."""
    height, width = rgb.shape[:2]
    # The surface is smooth: computed coarsely, then enlarged.
    at = (np.arange(32) + 0.5) / 16 - 1
    coarse = (_design(np.tile(at, 32), np.repeat(at, 32)) @ light.terms).reshape(32, 32, 3)
    gain = np.exp(np.clip(level - coarse, np.log(LEAST_GAIN), np.log(MOST_GAIN))).astype(np.float32)
    gain = np.asarray(cv2.resize(gain, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)
    lit = _LINEAR[rgb] * gain
    return np.asarray(_CODES[np.minimum(lit * (len(_CODES) - 1), len(_CODES) - 1).astype(np.int32)], np.uint8)


def _design(x: Floats, y: Floats) -> Floats:
    return np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])


def _robust(design: Floats, values: Floats) -> Floats:
    """Least squares with Tukey's biweight, begun at the median."""
    terms = np.zeros(design.shape[1])
    terms[0] = np.median(values)
    for _ in range(ROUNDS):
        rest = values - design @ terms
        limit = TUKEY * max(1.4826 * float(np.median(np.abs(rest))), 1e-3)
        weight = np.where(np.abs(rest) < limit, (1 - (rest / limit) ** 2) ** 2, 0.0)
        scaled = design * weight[:, None]
        # A weak pull to flat light where paint leaves too few cells.
        pull = np.diag([0.0, *[1e-2] * (design.shape[1] - 1)])
        terms[:] = np.linalg.solve(scaled.T @ design + pull, scaled.T @ values)
    return np.asarray(terms, float)


def _linear_table() -> NDArray[np.float32]:
    codes = np.arange(256) / 255
    return linear(codes).astype(np.float32)


def _code_table(size: int = 16384) -> Bytes:
    light = np.arange(size) / (size - 1)
    return np.round(coded(light) * 255).astype(np.uint8)


_LINEAR = _linear_table()
_CODES = _code_table()
