"""How sharp edges are in a photo, to refuse what is out of focus or was moved."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile

Floats = NDArray[np.float64]

#: Chunks of an edge looked at, places averaged in each, and how far to both sides (px at 4032 px width).
CHUNKS, PER_CHUNK, REACH_PX = 16, 24, 60.0


def edge_width_px(grey: NDArray[np.uint8], start: Floats, end: Floats) -> float:
    """How many pixels an edge from `start` to `end` (2,) takes: the range of its profile over its steepest rise.

    A sharp photo shows 2 to 7 px, whatever lies beside the edge. The median of short chunks: bowed edges stay sharp,
    and what lies over a part does not count.
    """
    unit = max(grey.shape) / 4032
    along = end - start
    normal = np.array([-along[1], along[0]]) / max(float(np.hypot(*along)), 1e-9)
    # The places of a chunk lie on a grid, so that its picture is an affine one of the photo.
    first = 0.05 + 0.9 * (np.arange(CHUNKS) + 0.5 / PER_CHUNK / 4) / CHUNKS
    step = 0.9 / PER_CHUNK / 4 / CHUNKS * along
    size = (int(2 * REACH_PX * unit + 0.5) + 1, PER_CHUNK)
    profile = np.empty((CHUNKS, size[0]))
    for k, begin in enumerate(start + first[:, None] * along - REACH_PX * unit * normal):
        to_photo = np.column_stack([normal, step, begin])
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        profile[k] = cv2.warpAffine(grey, to_photo, size, flags=flags, borderMode=cv2.BORDER_REPLICATE).mean(0)
    rise = np.abs(np.diff(profile, axis=1)).max(1)
    span = quantile(profile, 0.95) - quantile(profile, 0.05)
    return float(median(span / np.maximum(rise, 0.2)) / unit)


def panel_blur_px(grey: NDArray[np.uint8], corners_px: Floats) -> float:
    """Blur at the sides of a panel (4, 2), px at 4032 px width.

    A moved camera leaves the two sides along its motion sharp, so the sharper side of each opposite pair is taken, and
    of these the less sharp.
    """
    widths = [edge_width_px(grey, corners_px[k], corners_px[(k + 1) % 4]) for k in range(4)]
    return max(min(widths[0], widths[2]), min(widths[1], widths[3]))
