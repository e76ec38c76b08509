"""How many round things lie on a panel that is covered so densely that neither single blobs nor bare places tell.

Dots that touch make one blob, and rings of them leave no place that is mostly bare. The bare panel is then told from
its sides inward, and a round thing is where what is painted is widest, with hardly any of it just beyond that width: a
stroke goes on there to both sides.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import fit_ground
from aligncheck.geometry.small import quantile
from aligncheck.rows.view import ColourView

Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: A pixel is painted from so many times the panel's spread on, which its most even quarter tells: of Gaussian
#: differences a quarter is below 0.32 of that.
UNLIKE, QUARTER = 3.0, 0.32
#: Broader than this is no stroke, mm: the side of a stick of chalk draws three. Beside known lines strokes cover less
#: than this share so broadly.
BROAD_MM, COVERED = 3.2, 0.15
#: Radii of round things, mm.
RADII_MM = (BROAD_MM / 2, 8.0)
#: A circle this much wider than the thing shows less paint than this share: neighbours that touch it on two or three
#: sides do, a stroke does not.
WIDER, BEYOND, WAYS = 1.2, 0.45, 24


def count_round(view: ColourView, within: Mask, free: Mask) -> int:
    """How many round things lie `within` (h, w) a part of a view, of which known lines leave some `free` (h, w).

    Where lines cross one is widest, too: on them things count only where much is painted broadly beside them.
    """
    height, width = view.shape
    half = (width / view.px_per_mm / 2, height / view.px_per_mm / 2)
    bare = fit_ground(view.colours, view.px_per_mm, half).image(view.shape, view.px_per_mm, view.origin_px)
    differences = cv2.split(cv2.absdiff(view.colours, bare))
    unlike = np.asarray(cv2.max(cv2.max(differences[0], differences[1]), differences[2]), np.float32)
    spread = float(quantile(unlike[::2, ::2].ravel(), 0.25)) / QUARTER
    painted = (unlike > UNLIKE * max(spread, 1e-6)).astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (round(BROAD_MM * view.px_per_mm) | 1,) * 2)
    broad = cv2.morphologyEx(painted, cv2.MORPH_OPEN, disc)
    reach = cv2.distanceTransform(painted, cv2.DIST_L2, 5)
    widest = (reach >= cv2.dilate(reach, np.ones((5, 5), np.uint8))) & (
        within if broad[free].mean() > COVERED else free
    )
    widest &= (reach > RADII_MM[0] * view.px_per_mm) & (reach < RADII_MM[1] * view.px_per_mm)
    # Equal distances side by side are one thing.
    middles = cv2.connectedComponentsWithStats(widest.astype(np.uint8), connectivity=8)[3][1:]
    x, y = np.rint(middles.T).astype(int)
    if not len(x):
        return 0
    angle = np.arange(WAYS) * (2 * np.pi / WAYS)
    far = WIDER * reach[y, x][:, None] + 0.5
    at = [np.clip(np.rint(v[:, None] + far * turn).astype(int), 0, n - 1)
          for v, turn, n in ((y, np.sin(angle), height), (x, np.cos(angle), width))]  # fmt: skip
    return int((painted[at[0], at[1]].mean(1) < BEYOND).sum())
