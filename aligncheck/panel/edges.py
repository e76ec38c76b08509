"""Where exactly a side lies, piece by piece: a blurred step with a ramp beside it, fitted in linear light."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.lens import Lens
from aligncheck.panel.strips import Side, Singles, read_strip, side_between

Floats = NDArray[np.float64]

#: Pieces along a side and lines read for each, in the last pass and before.
PIECES = 64
LINES, FEW_LINES = 12, 6
#: The corners are rounded and often worn: this share of the side is left out at both ends.
ENDS = 0.02
#: Half-width of the window and spacing of the samples, px.
WINDOW_PX = 7.0
STEP_PX = 0.5
#: Spacing of the trial places; no piece is surer than this, px.
TRIAL_PX, LEAST_PX = 0.25, 0.02
#: Blur (sd) of an edge in luminance and in colour (JPEG stores colour at half the resolution), px.
BLUR_PX = 0.95
COLOUR_BLUR_PX = 1.7
#: Neighbouring samples come from the same pixels: this many of them count as one.
CORRELATED = 2.0
#: Another strong edge outside (a side face's or shadow's) is fitted along; the window ends this far (px) beyond it.
BEYOND_PX = 2.5
#: A step is sure enough for plain least squares from this many standard deviations on.
SURE = 6.0
#: Luminance is used alone where its steps are this sure in the median: colour is coarser.
CLEAR = 8.0


@dataclass(frozen=True)
class Edges:
    """Sub-pixel places along one side.

    Attributes
    ----------
    points_px : ndarray (n, 2)
        In photo pixels.
    outward : ndarray (n, 2)
        Unit vectors across the side.
    variance_px2 : ndarray (n,)
        Of each place across the side, from noise alone; infinite where nothing is seen.
    sureness : ndarray (n,)
        Height of the step over its standard deviation.
    offsets_px : ndarray (n,)
        Of the places from the track they were looked for along.
    ramp_px : float
        Median of ramp beside the step over the step itself, per pixel: how much a shadow's edge interferes.
    """

    points_px: Floats
    outward: Floats
    variance_px2: Floats
    sureness: Floats
    offsets_px: Floats
    ramp_px: float

    def moved(self, outward_px: float) -> "Edges":
        """The same places, all shifted outward."""
        return replace(self, points_px=self.points_px + outward_px * self.outward)


def read_edge_strip(
    rgb: NDArray[np.uint8], first: Floats, second: Floats, lens: Lens, unit: float, lines: int = LINES
) -> tuple[Side, Singles]:
    """The middle places (PIECES) of a side and its profiles (PIECES, k, 3) within the window."""
    offsets = np.arange(-WINDOW_PX, WINDOW_PX + STEP_PX / 2, STEP_PX) * unit
    shares = ENDS + (1 - 2 * ENDS) * (np.arange(PIECES * lines) + 0.5) / (PIECES * lines)
    side = side_between(first, second, lens, shares)
    light = read_strip(rgb, side, offsets).reshape(PIECES, lines, len(offsets), 3).mean(axis=1)
    return side_between(first, second, lens, shares.reshape(PIECES, lines).mean(axis=1)), light


def locate_edges(side: Side, light: Singles, search_px: float, unit: float, next_px: Floats | None = None) -> Edges:
    """Places of the step in each piece, at most `search_px` from the track.

    `next_px` (n,) is how far outside the track another strong edge follows, if one does.
    """
    next_edge = np.full(len(light), np.inf) if next_px is None else next_px / unit
    known = np.isfinite(light).all(axis=(1, 2))
    light = np.nan_to_num(light)
    luminance = light @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    place, variance, sureness, ramp = _fit_rooms(luminance, search_px / unit, BLUR_PX, next_edge)
    if np.median(sureness) < CLEAR:
        colour = _colour_mixture(light)
        place_c, variance_c, sureness_c, _ = _fit_rooms(colour, search_px / unit, COLOUR_BLUR_PX, next_edge)
        # JPEG places colour to about a quarter pixel.
        variance_c = variance_c + 0.25**2
        weight, weight_c = 1 / variance, 1 / variance_c
        place = (weight * place + weight_c * place_c) / (weight + weight_c)
        variance, sureness = 1 / (weight + weight_c), np.hypot(sureness, sureness_c)
    variance[~known] = np.inf
    place = place * unit
    points = side.points_px + place[:, None] * side.outward
    return Edges(points, side.outward, variance * unit**2, np.where(known, sureness, 0), place, ramp / unit)


def _colour_mixture(light: Singles) -> Singles:
    """The mixture (n, k) of R - B and G - (R + B) / 2 that best parts the two flanks against its own scatter."""
    red, green, blue = light[..., 0], light[..., 1], light[..., 2]
    pair = np.stack([red - blue, green - (red + blue) / 2], axis=-1)
    third = pair.shape[1] // 3
    step = (pair[:, -third:].mean(axis=1) - pair[:, :third].mean(axis=1)).astype(float)
    rough = np.diff(pair, n=2, axis=1).reshape(-1, 2).astype(float)
    spread = rough.T @ rough / len(rough) + 1e-10 * np.eye(2)
    mean = np.median(step, axis=0)
    if not mean.any():
        mean = np.array([1.0, 0.0])
    return np.asarray(
        pair @ np.linalg.solve(spread, mean).astype(np.float32) * np.float32(np.sqrt(spread[0, 0])), np.float32
    )


def _fit_rooms(
    profiles: Singles, search_px: float, blur_px: float, next_edge: Floats
) -> tuple[Floats, Floats, Floats, float]:
    """`_fit_steps` for pieces with another edge at different places, alike ones together; the ramp is the median."""
    rounded = np.where(next_edge < WINDOW_PX + BEYOND_PX, np.round(next_edge), np.inf)
    out = np.empty((4, len(profiles)))
    for place in np.unique(rounded):
        which = rounded == place
        out[:, which] = _fit_steps(profiles[which], search_px, blur_px, float(place))
    return out[0], out[1], out[2], float(np.median(out[3]))


@dataclass(frozen=True)
class _Trials:
    """Everything of the step fit that does not depend on the picture.

    `basis` holds for each trial place an orthonormal basis of level, slope, (other edge,) ramp and step; the last two
    rows of `triangle` turn the products with it into the ramp and the step themselves.
    """

    places: Floats
    inside: NDArray[np.bool_]
    root: Floats
    basis: Floats
    triangle: Floats


@lru_cache(maxsize=64)
def _trials(half: int, search_px: float, blur_px: float, next_edge: float) -> _Trials:
    o = np.arange(-half, half + 1) * STEP_PX
    inside = o <= next_edge + BEYOND_PX
    o = o[inside]
    root = np.exp(-((o / WINDOW_PX * 1.6) ** 2) / 4)
    places = np.arange(-search_px, min(search_px, next_edge - 1.0) + 0.01, TRIAL_PX)
    also = []
    if np.isfinite(next_edge):
        # The other edge, and its derivative, which takes up its shift.
        also = [normal_cdf((o - next_edge) / blur_px), np.exp(-(((o - next_edge) / blur_px) ** 2) / 2)]
    q, r = [], []
    for e in places:
        columns = [np.ones_like(o), o, *also, np.maximum(o - e, 0), normal_cdf((o - e) / blur_px)]
        one_q, one_r = np.linalg.qr(np.stack(columns, axis=1) * root[:, None])
        q.append(one_q.T)
        r.append(one_r[-2:, -2:])
    return _Trials(places, inside, root, np.array(q), np.array(r))


def _fit_steps(profiles: Singles, search_px: float, blur_px: float, next_edge: float) -> Floats:
    """Least squares over the place of a step, in every profile (n, k) at once.

    Level, slope, step and a ramp that begins at the step are linear and solved for each trial place; the window
    stays where it is, so that the sums of squares can be compared. Another edge at `next_edge` is fitted along.
    Returns place, variance, sureness, ramp over step: (4, n).
    """
    fixed = _trials((profiles.shape[1] - 1) // 2, search_px, blur_px, next_edge)
    y = profiles.T[fixed.inside].astype(float) * fixed.root[:, None]
    part = fixed.basis @ y
    cost = (y * y).sum(axis=0) - (part * part).sum(axis=1)
    n = np.arange(y.shape[1])
    best = np.clip(cost.argmin(axis=0), 1, len(fixed.places) - 2)
    low, mid, high = cost[best - 1, n], cost[best, n], cost[best + 1, n]
    curve = np.maximum(low - 2 * mid + high, 1e-12)
    place = fixed.places[best] + TRIAL_PX * np.clip((low - high) / (2 * curve), -1, 1)
    # Noise from the misfit; the floor keeps dead-flat pictures sane.
    freedom = max((fixed.root**2).sum() / CORRELATED - 5, 2)
    noise = np.maximum(mid / freedom, np.median(mid) / freedom / 4) + 1e-7
    variance = 2 * noise / (curve / TRIAL_PX**2)
    to_step, to_ramp = part[best, -1, n], part[best, -2, n]
    sureness = np.abs(to_step) / np.sqrt(noise * CORRELATED)
    variance = (variance + LEAST_PX**2) * (1 + (SURE / np.maximum(sureness, 0.5)) ** 4)
    triangle = fixed.triangle[best]
    step = to_step / triangle[:, 1, 1]
    ramp = (to_ramp - triangle[:, 0, 1] * step) / triangle[:, 0, 0]
    return np.stack([place, variance, sureness, np.abs(ramp) / np.maximum(np.abs(step), 1e-6)])
