"""Two figures for a whole piece: how far its edges lie off, and how far its colours."""

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.repeat.consensus import Floats, Segments, Singles
from aligncheck.repeat.unrolled import STEP_MM

#: Side of the blocks in which one shift of the edges and one mean colour are measured, mm.
BLOCK_MM = 5.0
#: A block has edges where the squared lightness steps of its weaker direction come to this.
LEAST_EDGE = 4.0
#: A block counts where so much of it is neither under glare nor under a piece.
JUDGED = 0.9
#: No edge is followed farther, mm.
FARTHEST_MM = 2.5


def edge_mm(segments: Segments) -> float | None:
    """Mean distance by which edges lie off the consensus, over all blocks that have edges both ways.

    In every block the shift d that carries the consensus C into the segment S solves, by least squares, S - C = -grad C
    . d (Lucas & Kanade 1981), over the three CIELAB channels.
    """
    consensus = np.concatenate([segments.consensus[:, -4:], segments.consensus, segments.consensus[:, :4]], 1)
    arc = np.maximum(np.radians(segments.columns_deg) * segments.radii_mm, 1e-3)[:, None, None]
    outward = np.gradient(consensus, STEP_MM, axis=0)[:, 4:-4]
    around = (np.gradient(consensus, axis=1)[:, 4:-4] / arc).astype(np.float32)
    rr, rt, tt = (_blocks((a * b).sum(-1)) for a, b in ((outward, outward), (outward, around), (around, around)))
    weaker = (rr + tt) / 2 - np.sqrt(((rr - tt) / 2) ** 2 + rt**2)
    good = weaker > LEAST_EDGE
    if not good.any():
        return None
    shifts = []
    for k in map(int, np.flatnonzero(segments.finished)):
        step = np.where(segments.judged[:, k, :, None], segments.lab[:, k] - segments.consensus, 0)
        r, t = _blocks((step * outward).sum(-1)), _blocks((step * around).sum(-1))
        det = np.where(good, rr * tt - rt**2, 1)
        d = np.hypot((tt * r - rt * t) / det, (rr * t - rt * r) / det)[good & _judged(segments, k)]
        shifts.append(np.minimum(d, FARTHEST_MM))
    every = np.concatenate(shifts) if shifts else np.zeros(0)
    return float(every.mean()) if len(every) else None


def colour(segments: Segments) -> float | None:
    """Mean CIEDE2000 difference of painted blocks from the consensus."""
    share = _blocks(segments.painted.astype(np.float32))
    good = share > 0.3
    if not good.any() or not segments.finished.any():
        return None
    theirs = block_colours(segments.consensus)
    apart = []
    for k in map(int, np.flatnonzero(segments.finished)):
        seen = good & _judged(segments, k)
        apart.append(ciede2000(block_colours(segments.lab[:, k])[seen], theirs[seen]))
    every = np.concatenate(apart)
    return float(every.mean()) if len(every) else None


def _judged(segments: Segments, k: int) -> NDArray[np.bool_]:
    """Blocks of segment `k` of which nearly all can be judged."""
    return np.asarray(_blocks(segments.judged[:, k].astype(np.float32)) > JUDGED, bool)


def block_colours(lab: Singles) -> Floats:
    """Mean colour of each block."""
    return np.stack([_blocks(lab[..., k]) for k in range(3)], -1)


def _blocks(values: Singles) -> Floats:
    """Means over blocks of the unrolled picture; the last rows and columns may be shared out."""
    height, width = values.shape
    size = max(1, round(width * STEP_MM / BLOCK_MM)), max(1, round(height * STEP_MM / BLOCK_MM))
    return np.asarray(cv2.resize(values.astype(np.float32), size, interpolation=cv2.INTER_AREA), float)
