"""The covariance of the map, from the joint fit and from what a fit of sides cannot know."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.panel.edges import Edges
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.rounded import Rounding
from aligncheck.panel.shape import ShapeFit
from aligncheck.panel.step_fit import SURE

Floats = NDArray[np.float64]

#: Blocks along a side whose means show slow waves (grain, weave, a bowed side) that no noise explains; waves longer
#: than a block make the side's place less sure than independent blocks would.
BLOCKS, BLOCK_FACTOR = 8, 1.6
#: Where the pieces of a side scatter by more than their noise, something else moves them, mostly all the same way (a
#: shadow's edge, a merged face): share of that scatter that the side's place and its turn are unsure by.
SCATTER_PLACE, SCATTER_TURN = 0.8, 0.5
#: Least spread of a side's turn, mm: dents. Paint, primer and wear on the edges are part of how true a panel is made
#: (:mod:`aligncheck.panel.kind`), not of where the photo shows them.
LEAST_TURN_MM = 0.01
#: Shade along the edges that a photo too coarse to part it from the side moves them by, all alike and each, px.
COMMON_PX, LEAST_PX = 0.1, 0.1
#: A side seen within about 6 degrees of edge-on shows its rounding, not its face: spread of its place and turn, mm.
EDGE_ON_SLANT, EDGE_ON_MM, EDGE_ON_TURN_MM = 0.1, 0.05, 0.02
#: Spread (px at 4032 px width) of a side without a sharp step.
NO_STEP_PX = 2.5
#: Shift (px) of a step by a ramp beside it as strong, per pixel, as the step itself; and the steepest that counts: a
#: black panel in its own shadow shows a ramp and hardly a step.
RAMP_PX, MOST_RAMP = 0.8, 3.0


def corner_directions() -> tuple[Floats, Floats]:
    """Unit moves over the eight corner numbers: both ends of side i 1 mm inwards; its ends -1 and +1 mm."""
    inward = np.array([[0, 1.0], [-1, 0], [0, -1], [1, 0]])
    place, turn = np.zeros((4, 8)), np.zeros((4, 8))
    for i in range(4):
        for corner, sign in ((i, -1.0), ((i + 1) % 4, 1.0)):
            place[i, 2 * corner : 2 * corner + 2] = inward[i]
            turn[i, 2 * corner : 2 * corner + 2] = sign * inward[i]
    return place, turn


def scatter_of_blocks(residuals: Floats, weights: Floats) -> float:
    """Standard error of a side's place (px) from the means of blocks along it, as independent values."""
    parts = [
        np.average(r, weights=np.maximum(w, 1e-9))
        for r, w in zip(np.array_split(residuals, BLOCKS), np.array_split(weights, BLOCKS), strict=True)
    ]
    # Two numbers (place and turn) were fitted; the median form keeps one odd block from deciding.
    centred = np.asarray(parts) - median(parts)
    spread = max(1.48 * median(np.abs(centred)), 0.7 * float(np.std(parts)))
    return spread * float(np.sqrt(BLOCKS / (BLOCKS - 2))) / float(np.sqrt(BLOCKS))


def scatter_of_pieces(residuals: Floats, sureness: Floats, variance: Floats) -> float:
    """Robust scatter (px) of a side's pieces beyond their noise; those that hardly see a step count less."""
    weights = sureness**2 / (sureness**2 + SURE**2)
    # As standard deviations of the normal distribution; what noise accounts for is in the fit's covariance. Where no
    # step is seen, pieces wander as they please.
    scatter = 1.48 * _weighted_median(np.abs(residuals), weights)
    noise = _weighted_median(variance, weights) * median(weights)
    return float(np.sqrt(max(scatter**2 - noise, 0.0)))


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(share, share[-1] / 2)])


class Uneven(NamedTuple):
    """How far the four sides' pieces stray beyond noise, px: each by itself, and in slow waves that move a side."""

    pieces_px: Floats
    waves_px: Floats


def unevenness(fit: ShapeFit, sides: list[Edges]) -> Uneven:
    """Of the sides as fitted."""
    pieces = [scatter_of_pieces(r, s.sureness, s.variance_px2) for r, s in zip(fit.residuals, sides, strict=True)]
    waves = [BLOCK_FACTOR * scatter_of_blocks(r, w) for r, w in zip(fit.residuals, fit.weights, strict=True)]
    return Uneven(np.array(pieces), np.array(waves))


def map_covariance(
    fit: ShapeFit,
    sides: list[Edges],
    uneven: Uneven,
    has_step: NDArray[np.bool_],
    panel: Panel,
    edge: Rounding,
    px_per_mm: Floats,
    size_px: float,
) -> Floats:
    """Covariance (10, 10) of the panel's p: eight corner displacements in mm, k1, k2."""
    to_p = errors_to_p(fit, panel)
    base = np.asarray(to_p @ fit.covariance @ to_p.T, float)
    base[:8, :8] += beyond_fit(sides, uneven, has_step, edge, px_per_mm, size_px)
    return base


def beyond_fit(
    sides: list[Edges],
    uneven: Uneven,
    has_step: NDArray[np.bool_],
    edge: Rounding,
    px_per_mm: Floats,
    size_px: float,
) -> Floats:
    """Covariance (8, 8) of the corners in mm from what the fit of the pieces cannot know."""
    place, turn = corner_directions()
    extra = np.zeros((8, 8))
    radius = edge.radius_sd_mm * (place * edge.per_radius[:, None]).sum(axis=0)
    extra += np.outer(radius, radius)
    inset = (COMMON_PX / px_per_mm) @ place
    extra += np.outer(inset, inset)
    near = np.exp(-((edge.slant / EDGE_ON_SLANT) ** 2) / 2)
    for i in range(4):
        scatter, wave = uneven.pieces_px[i] / px_per_mm[i], uneven.waves_px[i] / px_per_mm[i]
        none = 0.0 if has_step[i] else NO_STEP_PX * size_px / 4032 / px_per_mm[i]
        ramp = RAMP_PX * min(sides[i].ramp_px, MOST_RAMP) / px_per_mm[i]
        # A band that was fitted may be of another width than thought.
        merged = edge.merged_sd_mm[i] * (0.5 if sides[i].banded else 1.0)
        common = wave**2 + LEAST_TURN_MM**2
        shift = common + (LEAST_PX / px_per_mm[i]) ** 2 + none**2 + ramp**2 + merged**2
        shift += (SCATTER_PLACE * scatter) ** 2 + (EDGE_ON_MM * near[i]) ** 2 + edge.shade_sd_mm[i] ** 2
        tilt = common + 0.3 * none**2 + 0.2 * ramp**2
        tilt += (SCATTER_TURN * scatter) ** 2 + (EDGE_ON_TURN_MM * near[i]) ** 2
        extra += shift * np.outer(place[i], place[i]) + tilt * np.outer(turn[i], turn[i])
    return extra


def errors_to_p(fit: ShapeFit, panel: Panel) -> Floats:
    """What errors of the joint fit's corners (px) and lens mean for p (mm): matrix (10, 13)."""
    to_p = np.zeros((10, 13))
    corners_mm = nominal_corners(panel.width_mm, panel.height_mm)
    for c in range(4):
        for axis in range(2):
            moved = fit.corners_px[c].copy()
            moved[axis] += 0.1
            # The found corner lies at true + error: under the true map it reads further by the error's image.
            to_p[2 * c : 2 * c + 2, 2 * c + axis] = (panel.to_panel(moved) - corners_mm[c]) / 0.1
    to_p[8, 8] = to_p[9, 9] = -1.0
    return to_p
