"""A blurred step with a ramp beside it, placed by least squares in many profiles at once.

Level, slope, step and a ramp that begins at the step are linear and solved for each trial place; the window stays where
it is, so that the sums of squares can be compared.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import distinct, median
from aligncheck.panel.strips import Singles

Floats = NDArray[np.float64]

#: Half-width of the window and spacing of the samples, px.
WINDOW_PX = 7.0
STEP_PX = 0.5
#: Spacing of the trial places, px.
TRIAL_PX = 0.25
#: Neighbouring samples come from the same pixels: this many of them count as one.
CORRELATED = 2.0
#: Where another strong edge follows outside (a side face's or a shadow's), the window ends this far (px) beyond it.
BEYOND_PX = 2.5
#: A step is sure enough for plain least squares from this many standard deviations on.
SURE = 6.0


class Channel(NamedTuple):
    """Profiles (n, k) of one mixture of red, green and blue, the blur of its edges, and how well it can place one."""

    profiles: Singles
    blur_px: float
    least_px: float


def fit_steps(channels: list[Channel], search_px: float, next_edge: Floats) -> Floats:
    """Least squares over the place of a step, common to all channels, in every profile at once.

    Parameters
    ----------
    channels : list of Channel
        Of the same n pieces.
    search_px : float
        How far from the middle the step may lie.
    next_edge : ndarray (n,)
        Where another strong edge follows, infinite where none does. It is fitted along.

    Returns
    -------
    ndarray (4, n)
        Place, its variance, how sure the step is (in standard deviations), and ramp over step of the first channel.
    """
    rounded = np.where(next_edge < WINDOW_PX + BEYOND_PX, np.round(next_edge), np.inf)
    out = np.empty((4, len(next_edge)))
    for edge in distinct(rounded):
        which = rounded == edge
        some = [channel._replace(profiles=channel.profiles[which]) for channel in channels]
        out[:, which] = _fit_alike(some, search_px, float(edge))
    return out


class _Trials(NamedTuple):
    """Everything of the step fit that does not depend on the picture.

    `basis` holds for each trial place an orthonormal basis of level, slope, (other edge,) ramp and step; the last two
    rows of `triangle` turn the products with it into the ramp and the step themselves.
    """

    places: Floats
    inside: NDArray[np.bool_]
    root: Floats
    basis: Floats
    triangle: Floats


@lru_cache(maxsize=256)
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
    beyond = o - places[:, None]
    fixed = [np.broadcast_to(column, beyond.shape) for column in (np.ones_like(o), o, *also)]
    columns = np.stack([*fixed, np.maximum(beyond, 0), normal_cdf(beyond / blur_px)], axis=2)
    q, r = np.linalg.qr(columns * root[:, None])
    return _Trials(places, inside, root, np.ascontiguousarray(q.transpose(0, 2, 1)), r[:, -2:, -2:])


def _fit_alike(channels: list[Channel], search_px: float, next_edge: float) -> Floats:
    """The same for pieces with the other edge at one place."""
    half = (channels[0].profiles.shape[1] - 1) // 2
    trials = [_trials(half, search_px, channel.blur_px, next_edge) for channel in channels]
    found = [_misfit(channel, fixed) for channel, fixed in zip(channels, trials, strict=True)]
    place, curve, best = _lowest(np.sum([cost for cost, _, _ in found], axis=0), trials[0].places)
    sureness = np.sqrt(np.sum([one**2 for _, one, _ in found], axis=0))
    variance = 2 / curve * (1 + (SURE / np.maximum(sureness, 0.5)) ** 4)
    return np.stack([place, variance, sureness, found[0][2][best, np.arange(len(place))]])


def _misfit(channel: Channel, fixed: _Trials) -> tuple[Floats, Floats, Floats]:
    """Sum of squares over noise (trials, n), how sure the step is (n,), and ramp over step (trials, n)."""
    y = channel.profiles.T[fixed.inside].astype(float) * fixed.root[:, None]
    part = fixed.basis @ y
    cost = (y * y).sum(axis=0) - (part * part).sum(axis=1)
    n = np.arange(y.shape[1])
    _, curve, best = _lowest(cost, fixed.places)
    # Noise from the misfit; the floor keeps dead-flat pictures sane.
    left = cost[best, n]
    freedom = max((fixed.root**2).sum() / CORRELATED - 5, 2)
    noise = np.maximum(left / freedom, median(left) / freedom / 4) + 1e-7
    sureness = np.abs(part[best, -1, n]) / np.sqrt(noise * CORRELATED)
    # A channel that places a step by itself no better than to its least counts accordingly less.
    noise = noise + channel.least_px**2 * curve / 2
    step = part[:, -1] / fixed.triangle[:, 1, 1, None]
    ramp = (part[:, -2] - fixed.triangle[:, 0, 1, None] * step) / fixed.triangle[:, 0, 0, None]
    return cost / noise, sureness, np.abs(ramp) / np.maximum(np.abs(step), 1e-6)


def _lowest(cost: Floats, places: Floats) -> tuple[Floats, Floats, NDArray[np.int_]]:
    """Place, second derivative and nearest trial of the lowest point of each column of `cost` (trials, n)."""
    n = np.arange(cost.shape[1])
    best = np.clip(cost.argmin(axis=0), 1, len(places) - 2)
    place, curve = lowest(np.stack([cost[best - 1, n], cost[best, n], cost[best + 1, n]]), places[best], TRIAL_PX)
    return place, curve, best


def lowest(three: Floats, middle: Floats, step: float) -> tuple[Floats, Floats]:
    """Place and second derivative of parabolas through values (3, n) at `middle` (n,) and one `step` to both sides."""
    low, mid, high = three
    bow = np.maximum(low - 2 * mid + high, 1e-12)
    return middle + step * np.clip((low - high) / (2 * bow), -1, 1), bow / step**2
