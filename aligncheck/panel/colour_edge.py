"""Where a side shows in colour, for sides that luminance does not place surely.

Grain, weave, glare, shadows and the shade of a rounded edge change the strength of a surface's light, hardly its
colour. But files store colour coarsely, so that it is joined with what luminance finds by how sure either is.
"""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, medians, weighted_median
from aligncheck.panel.colour_channels import colour_shares
from aligncheck.panel.colour_place import colour_places
from aligncheck.panel.edges import CLEAR, Edges
from aligncheck.panel.step_fit import SURE, Channel
from aligncheck.panel.strips import Singles

Floats = NDArray[np.float64]

#: Colour spreads over some pixels: its profiles reach this many times as far as those of luminance.
WIDE = 1.8
#: A side is doubtful where the places of its pieces scatter by this much (px), or its steps are not clear.
SCATTER_PX = 0.35
#: Where pieces scatter by one pixel, something else than noise moves them, mostly all one way: by about so much.
COMMON_SHARE, COLOUR_COMMON_SHARE = 0.9, 0.5
#: And colour as such may place a whole side wrong by this much, px: the surfaces' colours change up to their edges.
COLOUR_COMMON_PX = 0.3
#: Colour sees a side by itself where its steps are this sure in the median.
SEEN = 3.0
#: Blur (sd) and least of a faint colour, px: files store colour at half the resolution.
FAINT_BLUR_PX, FAINT_LEAST_PX = 1.7, 0.25


def is_doubtful(edges: Edges, unit: float) -> bool:
    """Whether luminance alone does not place a side surely."""
    scatter = scatter_about_line(edges.offsets_px, edges.sureness)
    return bool(median(edges.sureness) < CLEAR or scatter > SCATTER_PX * unit)


def with_colour(edges: Edges, wide: Singles, search_px: float, unit: float, blur_px: float) -> Edges | None:
    """The places that luminance found, each joined with the one that colour finds in the profiles `wide` (n, k, 3).

    Both are taken for unsure by what their own pieces scatter, the coarser colour a little more. None where colour
    does not see the side by itself.
    """
    known = np.isfinite(wide).all(axis=(1, 2))
    wide = np.nan_to_num(wide)
    place, variance, sureness = colour_places(wide, WIDE, search_px / unit + 1.0, blur_px)
    if median(sureness) < SEEN:
        return None
    place, variance = place * unit, variance * unit**2
    own = edges.variance_px2 + (COMMON_SHARE * scatter_about_line(edges.offsets_px, edges.sureness)) ** 2
    common = COLOUR_COMMON_SHARE * scatter_about_line(place, sureness)
    other = np.where(known, variance + (COLOUR_COMMON_PX * unit) ** 2 + common**2, np.inf)
    seen = np.isfinite(own)
    share = np.where(seen, own, 1e9) / (np.where(seen, own, 1e9) + other)
    offsets = edges.offsets_px + share * (place - edges.offsets_px)
    # What may move all pieces alike is the covariance's affair; only their own scatter decides between sides.
    # Where colour is not known, beyond the photo's edge, its share is 0.
    joined = share**2 * np.where(known, variance, 0.0) + (1 - share) ** 2 * np.where(seen, edges.variance_px2, 1e9)
    joined += scatter_about_line(offsets, sureness) ** 2
    return edges._replace(
        points_px=edges.points_px + (offsets - edges.offsets_px)[:, None] * edges.outward,
        variance_px2=joined,
        sureness=np.hypot(edges.sureness, share * np.where(known, sureness, 0)),
        offsets_px=offsets,
    )


def faint_colour(light: Singles) -> Channel:
    """Colour as it is, to be fitted together with luminance where neither sees a side by itself."""
    light = np.nan_to_num(light)
    return Channel(np.asarray(colour_shares(light) @ colour_weights(light), np.float32), FAINT_BLUR_PX, FAINT_LEAST_PX)


def scatter_about_line(offsets_px: Floats, sureness: Floats) -> float:
    """Robust scatter of places about a straight line along the side; those that hardly see a step count less."""
    half = len(offsets_px) // 2
    slope = median(offsets_px[-half:] - offsets_px[:half]) / (len(offsets_px) - half)
    level = offsets_px - slope * np.arange(len(offsets_px))
    # All of a side that nowhere shows count alike.
    weights = sureness**2 / (sureness**2 + SURE**2) + 1e-9
    middle = weighted_median(level, weights)
    return 1.48 * weighted_median(np.abs(level - middle), weights)


def colour_weights(light: Singles) -> Singles:
    """Weights (2,) of the two colour shares that best part the two flanks of `light` (n, k, 3) against their scatter.

    Shares of the luminance, because grain and weave change the strength of a surface's light far more than its colour.
    """
    pair = colour_shares(light)
    third = pair.shape[1] // 3
    step = (pair[:, -third:].mean(axis=1) - pair[:, :third].mean(axis=1)).astype(float)
    # The scatter of the flanks alone: the edge itself must not count against what shows it.
    flanks = [np.diff(part, n=2, axis=1).reshape(-1, 2) for part in (pair[:, :third], pair[:, -third:])]
    rough = np.concatenate(flanks).astype(float)
    spread = rough.T @ rough / len(rough) + 1e-7 * np.eye(2)
    mean = medians(step, 0)
    if not mean.any():
        mean = np.array([1.0, 0.0])
    weights = np.linalg.solve(spread, mean)
    return np.asarray(weights / np.linalg.norm(weights), np.float32)
