"""Is the panel flat? A canvas that bows shows sides that no lens explains."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.legendre import legendre
from aligncheck.geometry.small import median
from aligncheck.lens.sheet_sides import edge_offsets
from aligncheck.notes import Note
from aligncheck.panel import Panel
from aligncheck.panel.panel_sides import SIDES
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Profiles along a side; how far to both sides they look: the largest bow told, mm, and room for a blur, px.
PROFILES, REACH_MM, ROOM_PX = 120, 1.8, 4
#: A bow (middle against ends) that counts: mm, px, and times its own standard error. Cut panels are straight to some
#: tenths of a millimetre; a bowed side misplaces what hangs on it by about half its bow.
BOW_MM, BOW_PX, SURE = 0.6, 1.5, 5.0
#: So much of its bow an edge may lie beside the fitted side in the mean: two thirds where the ends alone were fitted.
BESIDE = 0.8


def bowed_side(photo: Photo, panel: Panel) -> Note | None:
    """The side that bows most, if one surely does."""
    bows = [_bow(photo, panel, k) for k in range(4)]
    side = int(np.argmax(np.abs(bows)))
    if abs(bows[side]) < BOW_MM:
        return None
    return Note("advice_bowed", {"side": SIDES[side], "bow_mm": f"{abs(bows[side]):.1f}"})


def _bow(photo: Photo, panel: Panel, k: int) -> float:
    """Bow of side `k` in mm, 0 where it is not surely there."""
    corners = panel.corners_mm
    t = np.linspace(0.04, 0.96, PROFILES)
    mm = corners[k] + t[:, None] * (corners[(k + 1) % 4] - corners[k])
    path = panel.to_photo(mm)
    normal = np.gradient(path, axis=0)[:, ::-1] * (1, -1)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    half = round(REACH_MM * float(panel.px_per_mm(mm.mean(0)))) + ROOM_PX
    offset, good = edge_offsets(photo.grey, path, normal, half)
    if good.mean() < 0.7:
        return 0.0
    u, values = 2 * t[good] - 1, offset[good]
    basis = legendre(u, 3)
    for _ in range(3):
        terms = np.linalg.lstsq(basis, values, rcond=None)[0]
        rest = np.abs(values - basis @ terms)
        near = rest <= 3 * 1.4826 * max(median(rest), 0.05)
        basis, values = basis[near], values[near]
    # From the middle to the ends the second Legendre term changes by 3/2.
    bow_px = -1.5 * float(terms[2])
    error = 1.5 * float(np.std(values - basis @ terms)) * np.sqrt(5 / len(values)) * 2
    # The side was fitted straight through its own bow, so in the mean it lies on it; an edge that runs beside it is
    # another one, as a shadow's.
    if abs(float(terms[0])) > max(BESIDE * abs(bow_px), BOW_PX):
        return 0.0
    if abs(bow_px) < max(BOW_PX * max(photo.width_px, photo.height_px) / 4032, SURE * error):
        return 0.0
    return bow_px / float(panel.px_per_mm(mm.mean(0)))
