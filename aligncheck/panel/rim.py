"""How even the panel looks along the inside of its sides: its front face is one surface."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.small import SmallView
from aligncheck.panel.steps import sample

Floats = NDArray[np.float64]

#: Pixels of the view inside a side: near enough to be bare panel, far enough to be clear of the edge.
DEPTHS_PX = (5.0, 9.0)
PLACES = 12
#: Colour differences beyond this many scatters of noise are another surface.
OTHER = 8.0


def rim_unevenness(view: SmallView, corners: Floats) -> Floats:
    """Penalty (m,) of outlines (m, 4, 2): rough rims, sides of different colour, patches of another colour.

    Luminance is left out of the comparison between places, as light falls unevenly across a panel.
    """
    start, along, inward = sides_of(corners)
    t = (np.arange(PLACES) + 0.5) / PLACES * 0.92 + 0.04
    rows = [
        sample(view.by_noise, start[:, :, None] + t[:, None] * along[:, :, None] + depth * inward[:, :, None])
        for depth in DEPTHS_PX
    ]
    values = np.stack(rows, 2)  # m, 4, depths, places, 3
    rough = medians(np.abs(np.diff(values[..., 0], axis=-1)).reshape(len(values), -1))
    # Each colour's values side by side, so that a sort finds their medians.
    chroma = np.ascontiguousarray(np.moveaxis(values[..., 1:], -1, 1)).reshape(len(values), 2, 4, -1)
    by_side = medians(chroma)
    usual = medians(chroma.reshape(len(chroma), 2, -1))
    spread = np.abs(by_side - usual[..., None]).max(1).mean(-1)
    # Colour differences grow with the light, so a tenth of the panel's own colour is no other surface.
    allowed = OTHER + 0.1 * np.abs(usual)
    other = (np.abs(chroma - usual[..., None, None]) > allowed[..., None, None]).any(1).mean((1, 2))
    return np.asarray(0.35 * np.log1p(rough / 2) + 0.25 * np.log1p(spread / 2) + 0.6 * other)


def sides_of(corners: Floats) -> tuple[Floats, Floats, Floats]:
    """Starts, vectors along (both (..., 4, 2)) and unit inward normals of the sides 0-1, 1-2, 2-3, 3-0."""
    along = np.roll(corners, -1, axis=-2) - corners
    normal = np.stack([-along[..., 1], along[..., 0]], -1)
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
    middle = corners.mean(-2, keepdims=True)
    towards = np.sign(((middle - corners) * normal).sum(-1, keepdims=True))
    return corners, along, normal * towards
