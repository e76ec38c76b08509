"""Whether a side is but a line drawn on the panel: beyond it the panel's own ground goes on.

What lies beside a panel's side is something else, or in a shadow. Beside a drawn line the ground comes back as it was
within the line's width, even where the panel ends a few millimetres further on.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, medians
from aligncheck.panel.bands import PIECES, Band
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.small import CHANNEL_MATRIX

Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]

#: Lines read for each piece.
LINES = 3
#: No drawn line is wider (mm); the blur of both its edges comes to it (px).
WIDEST_MM, BLUR_PX = 3.2, 2.0
#: The ground is taken from here to here inside (mm): beyond the line, should it lie inside, and a second one.
INSIDE_MM = (2.7, 8.0)
#: The ground has come back where so much of it (mm, px) is nowhere unlike by more than this share of its codes: a lamp
#: half a metre off changes them by one in a hundred across some millimetres. Black is not nothing, and beside lines
#: JPEG is a code off (codes).
COMES_BACK_MM, COMES_BACK_PX, LIKE, BLACK, BESIDE = 0.6, 2, 0.02, 10.0, 1.0
#: So far outside is looked at.
OUTSIDE_MM = WIDEST_MM + 2 * COMES_BACK_MM
#: A line stands out by this share of the ground's codes: thin pencil by a quarter, chalk on dark paint by twice as much
#: as there is.
STANDS_OUT = 0.2
#: Share of a line's colour that JPEG, coarser in colour, leaves beside it.
BLEED = 0.1
#: A shadow fades on one side only, over five times the breadth of a side's blur and more; a line's flanks are alike.
SOFTER = 2.4


def ground_beyond_sides(pixels: NDArray[np.uint8], panel: Panel) -> tuple[float | None, ...]:
    """:func:`ground_beyond_mm` of the top, right, bottom and left side of `panel`, an outline as fitted."""
    return tuple(ground_beyond_mm(band) for band in thin_bands(pixels, panel))


def thin_bands(pixels: NDArray[np.uint8], panel: Panel) -> list[Band]:
    """What lies along the top, right, bottom and left side."""
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    return [_thin_band(pixels, panel, corners[k], corners[(k + 1) % 4]) for k in range(4)]


def _thin_band(pixels: NDArray[np.uint8], panel: Panel, first: Floats, second: Floats) -> Band:
    """What lies along a side, read at a few lines of each piece only."""
    per_mm = float(panel.px_per_mm())
    outside, inside = (int(np.ceil(mm * per_mm)) for mm in (OUTSIDE_MM, INSIDE_MM[1]))
    along = second - first
    inward = np.array([-along[1], along[0]]) / np.hypot(*along)
    places = first + (np.arange(PIECES * LINES) + 0.5)[:, None] / (PIECES * LINES) * along
    # Across so few millimetres the map is straight.
    outer, inner = (panel.to_photo(places + depth / per_mm * inward) for depth in (0.5 - outside, inside - 0.5))
    share = np.linspace(0, 1, outside + inside)[:, None, None]
    at = (outer + share * (inner - outer)).astype(np.float32)
    codes = cv2.remap(pixels, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    means = codes.reshape(len(share), PIECES, LINES, 3).mean(2, dtype=np.float32)
    return Band(np.asarray(cv2.transform(means, CHANNEL_MATRIX), np.float32), outside, PIECES * LINES, per_mm)


def ground_beyond_mm(band: Band) -> float | None:
    """How far outside a side the ground inside it comes back, where a line lies between; None where it does not."""
    per_mm = band.px_per_mm
    depth_mm = (np.arange(len(band.values)) - band.outside + 0.5) / per_mm
    ground = medians(band.values[depth_mm > INSIDE_MM[0] + BLUR_PX / per_mm], 0)
    unlike = np.abs(medians(band.values - ground, 1))
    codes = median(ground[:, 0]) + BLACK
    like = LIKE * codes + BESIDE
    line = depth_mm < INSIDE_MM[0]
    # The line's own colour bleeds into the ground beside it.
    alike = (unlike < like + BLEED * unlike[line & (depth_mm > -WIDEST_MM)].max(axis=0, initial=0.0) * (0, 1, 1)).all(1)
    needed = max(COMES_BACK_PX, int(np.ceil(COMES_BACK_MM * per_mm)))
    outward = alike[depth_mm < 0][::-1]
    for start in range(len(outward) - needed + 1):
        if outward[start : start + needed].all():
            across = unlike[line & (depth_mm > -(start + 1) / per_mm)]
            return start / per_mm if _is_line(across[:, across.max(0).argmax()], STANDS_OUT * codes) else None
    return None


def _is_line(across: Floats32, least: float) -> bool:
    """Whether what lies between ground and ground, from outside to inside, stands out and ends on both sides alike."""
    if not len(across) or across.max() <= least:
        return False
    peak = int(across.argmax())
    outer, inner = _flank_px(across[: peak + 1][::-1]), _flank_px(across[peak:])
    return outer < SOFTER * max(inner, 1.0)


def _flank_px(falling: Floats32) -> float:
    """Pixels from three quarters of the first value to one quarter, where it falls so far; else to the end."""
    low = int(np.argmax(falling < 0.25 * falling[0])) or len(falling) - 1
    high = int(np.flatnonzero(falling[: low + 1] >= 0.75 * falling[0])[-1])
    ends = []
    for k, share in ((high, 0.75), (low - 1, 0.25)):
        before, after = float(falling[k]), float(falling[min(k + 1, len(falling) - 1)])
        ends.append(k + (before - share * float(falling[0])) / max(before - after, 1e-6))
    return ends[1] - ends[0]
