"""Where dots may be: places that differ from what lies around them as a disc does, whatever their colour."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.view import HALF_AT, DotView
from aligncheck.geometry.channels import lengths, summed
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Radii looked for, mm: dots of 1 to 15 mm and what a hand adds; the ratio of one to the next.
SMALLEST_MM, LARGEST_MM, STEP = 0.45, 7.5, 1.25
#: The view is halved once a radius is this many pixels.
HALVED_FROM_PX = 6.0
#: Least difference of disc and surroundings, as a share of full colour.
LEAST = 0.085
#: Two middles of one size are farther apart than this share of the radius.
APART = 0.6


def saturated(unlike: Singles) -> Singles:
    """Difference from the panel (h, w, 3), its length brought from 0 .. infinity to 0 .. 1."""
    share = 1 / (lengths(unlike) + np.float32(HALF_AT))
    return np.asarray(unlike * cv2.merge([share] * 3), np.float32)


def find_blobs(view: DotView) -> Floats:
    """Seeds (n, 4): x, y and radius in mm, and how clearly each stands out; several for one dot."""
    q, factor = _halved(view.unlike), 2
    q = saturated(q)
    looks = []
    for radius in SMALLEST_MM * STEP ** np.arange(np.ceil(np.log(LARGEST_MM / SMALLEST_MM) / np.log(STEP)) + 1):
        if radius * view.px_per_mm / factor > HALVED_FROM_PX:
            q, factor = _halved(q), factor * 2
        looks.append((q, factor, float(radius)))
    return np.concatenate(all_at_once(lambda look: _seeds(view, *look), looks))


def _seeds(view: DotView, q: Singles, factor: int, radius_mm: float) -> Floats:
    """Those of one radius, in the view halved to one `factor`th."""
    px = radius_mm * view.px_per_mm / factor
    contrast = _contrast(q, px / np.sqrt(2))
    size = 2 * max(1, round(APART * px)) + 1
    y, x = np.nonzero((contrast >= cv2.dilate(contrast, np.ones((size, size), np.uint8))) & (contrast > LEAST))
    xy = view.to_panel((np.column_stack([x, y]) + 0.5) * factor - 0.5)
    return np.column_stack([xy, np.full(len(x), radius_mm), contrast[y, x]])


def _halved(image: Singles) -> Singles:
    h, w = (n // 2 * 2 for n in image.shape[:2])
    return np.asarray(cv2.resize(image[:h, :w], (w // 2, h // 2), interpolation=cv2.INTER_AREA), np.float32)


def _contrast(q: Singles, sd: float) -> Singles:
    """How far (h, w) a disc stands out from its surroundings, away from the panel's colour; most where `sd` fits it.

    The difference of two Gaussians, along the colour of the inner one: a bare gap between dots stands out too, but
    towards the panel's colour.
    """
    inner = cv2.GaussianBlur(q, (0, 0), sd / 1.26)
    difference = inner - cv2.GaussianBlur(q, (0, 0), sd * 1.26)
    return np.asarray(summed(difference * inner) / (lengths(inner) + np.float32(1e-6)), np.float32)
