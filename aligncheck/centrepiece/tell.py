"""Telling piece from panel by colour: two tables of how often each colour occurs, inside and outside."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import Singles
from aligncheck.centrepiece.window import Window

#: Bins of lightness and of the two colour differences: wide enough that grain and JPEG's blocks fill them.
LIGHT_BINS, SHADE_BINS = 40, 44
LIGHT_STEP, SHADE_STEP = 0.028, 0.018
#: What a colour never seen is worth, as a share of all pixels spread evenly over the bins.
UNSEEN = 3e-6
#: Shades in which the bare panel is to be expected beside a piece that throws a shadow.
SHADES = (0.93, 0.85, 0.77, 0.69, 0.6)
#: Share of the shaded samples among those of the bare panel.
SHADED_WEIGHT = 0.3
Bins = NDArray[np.int32]


def colour_bins(window: Window, shade: float = 1.0) -> Bins:
    """Bin (h, w) of every pixel's colour in the panel's mean light: uneven light is divided out."""
    mean = window.bare.reshape(-1, 3).mean(0)
    even = window.colours * (shade * mean / window.bare)
    return bins_of(even)


def bins_of(colours: Singles) -> Bins:
    """Bin (...) of cube-root colours (..., 3)."""
    r, g, b = colours[..., 0], colours[..., 1], colours[..., 2]
    light = ((r + g + b) * (1 / 3 / LIGHT_STEP)).astype(np.int32)
    one = ((r - g) * (1 / SHADE_STEP) + SHADE_BINS / 2).astype(np.int32)
    two = (((r + g) / 2 - b) * (1 / SHADE_STEP) + SHADE_BINS / 2).astype(np.int32)
    np.clip(light, 0, LIGHT_BINS - 1, out=light)
    np.clip(one, 0, SHADE_BINS - 1, out=one)
    np.clip(two, 0, SHADE_BINS - 1, out=two)
    return (light * SHADE_BINS + one) * SHADE_BINS + two


def frequencies(bins: Bins, weights: Singles | None = None) -> Singles:
    """Share of every bin among samples, smoothed over its neighbours."""
    counts = np.bincount(bins, weights, LIGHT_BINS * SHADE_BINS**2).astype(np.float32)
    cube = counts.reshape(LIGHT_BINS, SHADE_BINS, SHADE_BINS)
    for axis in range(3):
        # Each axis in turn as the rows of a plain image.
        flat = np.ascontiguousarray(np.moveaxis(cube, axis, 0)).reshape(cube.shape[axis], -1)
        soft = np.asarray(cv2.GaussianBlur(flat, (1, 5), 1.0, borderType=cv2.BORDER_CONSTANT), np.float32)
        rest = [n for k, n in enumerate(cube.shape) if k != axis]
        cube = np.moveaxis(soft.reshape(cube.shape[axis], *rest), 0, axis)
    return np.asarray(np.ascontiguousarray(cube).ravel() / max(float(counts.sum()), 1.0) + UNSEEN, np.float32)
