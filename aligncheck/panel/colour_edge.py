"""Where a side shows in colour, for sides that luminance does not place surely.

Grain, weave, glare and the shade of a rounded edge change the strength of a surface's light, hardly its colour. But
files store colour at half the resolution, in gamma-coded values, so that it is coarse; and where a bright surface meets
a dark one, its colour bleeds into the dark one and counts for much there: the middle of the change lies inside the dark
surface. How far is worked out by sending the two surfaces through the same lens and file.
"""

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.panel.colour_channels import colour_shares
from aligncheck.panel.edges import CLEAR, Edges, sharpest
from aligncheck.panel.step_fit import STEP_PX, SURE, Channel, fit_steps
from aligncheck.panel.strips import Singles

Floats = NDArray[np.float64]

#: Colour spreads over some pixels: its profiles reach this many times as far as those of luminance.
WIDE = 1.8
#: Blurs (sd) that are tried, in units of the wide profile: files store colour at full or half resolution.
BLURS = (0.6, 0.95, 1.3, 1.7)
#: No piece is placed better than this by its colour (wide units): a quarter of a pixel.
LEAST = 0.15
#: A side is doubtful where the places of its pieces scatter by this much (px), or its steps are not clear.
SCATTER_PX = 0.35
#: Where pieces scatter by one pixel, something else than noise moves them, mostly all one way: by about so much.
COMMON_SHARE, COLOUR_COMMON_SHARE = 0.9, 0.5
#: And colour as such may place a whole side wrong by this much, px: the surfaces' colours change up to their edges.
COLOUR_COMMON_PX = 0.45
#: Colour sees a side by itself where its steps are this sure in the median.
SEEN = 5.0
#: Blur (sd) and least of a faint colour, px: files store colour at half the resolution.
FAINT_BLUR_PX, FAINT_LEAST_PX = 1.7, 0.25
#: JPEG's colour differences (ITU-R BT.601), from R, G, B codes, and back.
TO_YCC = np.array([[0.299, 0.587, 0.114], [-0.168736, -0.331264, 0.5], [0.5, -0.418688, -0.081312]], np.float32)
FROM_YCC: NDArray[np.float32] = np.linalg.inv(TO_YCC.astype(float)).astype(np.float32)


def is_doubtful(edges: Edges, unit: float) -> bool:
    """Whether luminance alone does not place a side surely."""
    scatter = scatter_about_line(edges.offsets_px, edges.sureness)
    return bool(np.median(edges.sureness) < CLEAR or scatter > SCATTER_PX * unit)


def with_colour(edges: Edges, wide: Singles, search_px: float, unit: float, blur_px: float) -> Edges | None:
    """The places that luminance found, each joined with the one that colour finds in the profiles `wide` (n, k, 3).

    Both are taken for unsure by what their own pieces scatter, the coarser colour a little more. None where colour
    does not see the side by itself.
    """
    known = np.isfinite(wide).all(axis=(1, 2))
    wide = np.nan_to_num(wide)
    place, variance, sureness = _colour_places(wide, search_px / (WIDE * unit), blur_px / WIDE)
    if np.median(sureness) < SEEN:
        return None
    scale = WIDE * unit
    place, variance = place * scale, variance * scale**2
    own = edges.variance_px2 + (COMMON_SHARE * scatter_about_line(edges.offsets_px, edges.sureness)) ** 2
    common = COLOUR_COMMON_SHARE * scatter_about_line(place, sureness)
    other = np.where(known, variance + (COLOUR_COMMON_PX * unit) ** 2 + common**2, np.inf)
    seen = np.isfinite(own)
    share = np.where(seen, own, 1e9) / (np.where(seen, own, 1e9) + other)
    offsets = edges.offsets_px + share * (place - edges.offsets_px)
    # What may move all pieces alike is the covariance's affair; only their own scatter decides between sides.
    joined = share**2 * np.where(known, variance, np.inf) + (1 - share) ** 2 * np.where(seen, edges.variance_px2, 1e9)
    return replace(
        edges,
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
    slope = float(np.median(offsets_px[-half:] - offsets_px[:half])) / (len(offsets_px) - half)
    level = offsets_px - slope * np.arange(len(offsets_px))
    weights = sureness**2 / (sureness**2 + SURE**2)
    middle = _weighted_median(level, weights)
    return 1.48 * _weighted_median(np.abs(level - middle), weights)


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    share = np.cumsum(weights[order] + 1e-9)
    return float(values[order][np.searchsorted(share, share[-1] / 2)])


def _colour_places(wide: Singles, search: float, lens_blur: float) -> tuple[Floats, Floats, Floats]:
    """Places, their variances and how sure each step is, (n,) each, in units of the wide profile."""
    weights = colour_weights(wide)
    mixture = np.asarray(colour_shares(wide) @ weights, np.float32)
    nothing_follows = np.full(len(wide), np.inf)
    # The bleeding moves what is looked for.
    search += 1.0
    sharp = sharpest(mixture[::4], BLURS, LEAST, search, nothing_follows[::4])
    blur = sharp.blur_px if sharp else BLURS[-1]
    place, variance, sureness, _ = fit_steps([Channel(mixture, blur, LEAST)], search, nothing_follows)
    return place - shown_place(wide, weights, blur, min(lens_blur, 0.9 * blur)), variance, sureness


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
    mean = np.median(step, axis=0)
    if not mean.any():
        mean = np.array([1.0, 0.0])
    weights = np.linalg.solve(spread, mean)
    return np.asarray(weights / np.linalg.norm(weights), np.float32)


def shown_place(wide: Singles, weights: Singles, blur: float, lens_blur: float) -> Floats:
    """Where (n,) an edge at 0 between the two flanks of each piece shows in the colour mixture.

    `blur` is the blur that the mixture's edges have, `lens_blur` that of luminance, in units of the wide profile.
    """
    quarter = wide.shape[1] // 4
    inner, outer = np.median(wide[:, :quarter], axis=1), np.median(wide[:, -quarter:], axis=1)
    half = (wide.shape[1] - 1) // 2
    share = normal_cdf(np.arange(-half, half + 1) * STEP_PX / lens_blur)
    # A cube root is near enough to the sRGB curve in the shadows, where it matters.
    codes = np.cbrt(np.maximum(inner[:, None] + share[:, None] * (outer - inner)[:, None], 0)).astype(np.float32)
    ycc = codes @ TO_YCC.T
    file_blur = float(np.sqrt(blur**2 - lens_blur**2)) / STEP_PX
    for channel in (1, 2):
        ycc[..., channel] = cv2.GaussianBlur(
            ycc[..., channel], (0, 0), file_blur, sigmaY=1e-3, borderType=cv2.BORDER_REPLICATE
        )
    back = np.maximum(ycc @ FROM_YCC.T, 0) ** 3
    profiles = np.asarray(colour_shares(back.astype(np.float32)) @ weights, np.float32)
    place, _, _, _ = fit_steps([Channel(profiles, blur, LEAST)], 2.0, np.full(len(wide), np.inf))
    return place
