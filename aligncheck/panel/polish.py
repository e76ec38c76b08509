"""Small moves of an outline's sides in the view, to where their steps are clearest."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import cross
from aligncheck.panel.rim import sides_of
from aligncheck.panel.small import SmallView
from aligncheck.panel.steps import lasting, steps_across

Floats = NDArray[np.float64]

PLACES = 40
#: Places across a side are read at this distance.
ACROSS_PX = 1.5
#: What a pixel of move at one end costs: of two equal tracks the nearer one.
PRICE = 0.002


def clearest_track(view: SmallView, corners: Floats, side: int, reach_px: float) -> Floats:
    """Moves inwards (m, 2) of both ends of a side of outlines (m, 4, 2) to its clearest track within `reach_px`."""
    start, along, inward = (v[:, side] for v in sides_of(corners))
    t = (np.arange(PLACES) + 0.5) / PLACES
    shifts = np.arange(-reach_px, reach_px + 0.1, ACROSS_PX)
    base = start[:, None] + t[:, None] * along[:, None]
    points = base[:, None] + shifts[:, None, None] * inward[:, None, None]
    near, far = steps_across(view, points, inward[:, None, None])
    ends = np.stack(np.meshgrid(shifts[::2], shifts[::2], indexing="ij"), axis=-1).reshape(-1, 2)
    track = np.rint((ends[:, :1] + t * (ends[:, 1:] - ends[:, :1]) + reach_px) / ACROSS_PX).astype(int)
    # The mean along every track of every outline is one product: which places a track passes, times their steps.
    passes = np.zeros((len(ends), len(shifts) * PLACES), np.float32)
    passes[np.arange(len(ends))[:, None], track * PLACES + np.arange(PLACES)] = 1 / PLACES
    step = lasting(_along_tracks(passes, near), _along_tracks(passes, far))
    strength = np.linalg.norm(step, axis=-1) - PRICE * np.abs(ends).sum(1)
    return np.asarray(ends[strength.argmax(1)])


def _along_tracks(passes: NDArray[np.float32], steps: NDArray[np.float32]) -> NDArray[np.float32]:
    """Means (m, tracks, 3) along tracks of steps (m, shifts, places, 3)."""
    count = len(steps)
    placed = np.ascontiguousarray(steps.reshape(count, -1, 3).transpose(1, 0, 2)).reshape(-1, count * 3)
    return np.asarray((passes @ placed).reshape(-1, count, 3).transpose(1, 0, 2), np.float32)


def polish(view: SmallView, corners: Floats, reach_px: float) -> Floats:
    """All four sides of outlines (m, 4, 2) moved to their clearest tracks, and crossed again."""
    start, along, inward = sides_of(corners)
    ends = np.stack([start, start + along], axis=2)
    for side in range(4):
        move = clearest_track(view, corners, side, reach_px)
        ends[:, side] += move[..., None] * inward[:, side, None]
    one = np.ones((*ends.shape[:3], 1))
    points = np.concatenate([ends, one], -1)
    lines = cross(points[:, :, 0], points[:, :, 1])
    crossings = cross(np.roll(lines, 1, axis=1), lines)
    return np.asarray(crossings[..., :2] / crossings[..., 2:], float)
