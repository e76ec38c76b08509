"""Blur and darkness.

Both are promised to sharpen the sides, not the strokes: those are limited by their chalk. On rendered photos that were
dark, out of focus or moved, and on good ones of the same panels, the strokes' own part came out alike.
"""

import numpy as np

from aligncheck.advice.budget import Budget
from aligncheck.advice.gain import Gain
from aligncheck.geometry.small import quantile
from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.photo.sharpness import edge_width_px

#: Width of an edge, px at 4032 px width: what a sharp phone photo shows, and from where on blur is told.
SHARP_PX, BLURRED_PX = 5.0, 8.0
#: One pair of sides so many times wider than the other: the phone moved, across them.
MOVED = 1.7
#: Codes: a lit photo's brightest tenth lies above the first, a dark one's below the second.
LIT, DARK = 160.0, 75.0


def sharpen(photo: Photo, panel: Panel, budget: Budget) -> Gain | None:
    """What a photo without blur would do."""
    c = panel.corners_px
    widths = [edge_width_px(photo.grey, c[k], c[(k + 1) % 4]) for k in range(4)]
    pairs = sorted((min(widths[0], widths[2]), min(widths[1], widths[3])))
    blur = pairs[1]
    if blur < BLURRED_PX:
        return None
    # A blurred side is as much wider and fainter as it is blurred.
    code = "advice_moved" if pairs[1] > MOVED * pairs[0] else "advice_focus"
    return Gain(code, budget.total_mm, budget.if_better(map_times=blur / SHARP_PX))


def more_light(photo: Photo, budget: Budget) -> Gain | None:
    """What more light would do: noise falls with its root."""
    bright = float(quantile(photo.grey[::8, ::8].ravel(), 0.9))
    if bright > DARK:
        return None
    # Codes go about with the square root of the light, so noise over signal goes about with the code itself.
    times = LIT / max(bright, 10.0)
    return Gain("advice_dark", budget.total_mm, budget.if_better(map_times=np.sqrt(times)))
