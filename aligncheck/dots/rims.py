"""Circles through rims: along rays from each middle the strongest colour step, and the circle through most of them.

All circles are worked at once; nothing loops over dots.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: So many samples are worked at a time, which bounds memory: a megabyte an array, and arrays are many.
SAMPLES = 80_000
#: Circles are worked tile by tile of so many pixels, so that what they show is fetched into the processor once.
TILE_PX = 128
#: A step away from the panel's colour is hardly a dot's rim: what lies outside counts this much less.
OUTWARD_SHARE = 0.35
#: A colour this many times as far from the panel as the dot's own is half of all there is.
SATURATION = 2.0
#: Rounds of the robust fit through one set of steps.
ROUNDS = 5
#: A ray is on the rim within this much: pixels (a pixel's own place), and a share of the radius (out of round).
NEAR_PX, NEAR_SHARE = 0.7, 0.05


@dataclass(frozen=True)
class Rims:
    """Circles, all arrays (n,), in pixels of the view.

    `coverage`: share of the rays whose step lies on the circle. `noise_px`: rms distance of these. `step`: median
    colour step across the rim, in units of the image it was found in.
    """

    x: Floats
    y: Floats
    r: Floats
    coverage: Floats
    noise_px: Floats
    step: Floats

    def __len__(self) -> int:
        return len(self.r)

    def take(self, which: NDArray[np.generic]) -> "Rims":
        """Those at `which` (indices or mask)."""
        return Rims(*(getattr(self, k)[which] for k in ("x", "y", "r", "coverage", "noise_px", "step")))

    def joined(self, other: "Rims") -> "Rims":
        """These and the `other` ones."""
        names = ("x", "y", "r", "coverage", "noise_px", "step")
        return Rims(*(np.concatenate([getattr(self, k), getattr(other, k)]) for k in names))


def seeds(x: Floats, y: Floats, r: Floats) -> Rims:
    """Circles of which nothing is known but their place."""
    zero = np.zeros(len(r))
    return Rims(np.asarray(x, float), np.asarray(y, float), np.asarray(r, float), zero, zero, zero)


@dataclass(frozen=True)
class Look:
    """How to look for rims: rays, samples along each, half-width of the window (share of the radius; at least px)."""

    rays: int
    samples: int
    window: float
    least_px: float = 2.0
    saturate: bool = True


def fit_rims(image: Singles, rims: Rims, look: Look) -> Rims:
    """Move each circle onto the colour steps around it.

    Parameters
    ----------
    image : ndarray (h, w, 3)
        Colours in which a step is measured; 0 where the panel is bare, if `OUTWARD_SHARE` is to mean anything.
    rims : Rims
        Where to look.
    look : Look
    """
    size = max(1, SAMPLES // (look.rays * look.samples))
    order = np.lexsort((rims.r, np.floor(rims.x / TILE_PX), np.floor(rims.y / TILE_PX)))
    parts = all_at_once(lambda k: _fit(image, rims.take(order[k : k + size]), look), range(0, len(rims), size))
    if not parts:
        return rims
    back = np.empty_like(order)
    back[order] = np.arange(len(order))
    names = ("x", "y", "r", "coverage", "noise_px", "step")
    return Rims(*(np.concatenate([getattr(part, name) for part in parts])[back] for name in names))


def _fit(image: Singles, rims: Rims, look: Look) -> Rims:
    angles = np.arange(look.rays) * (2 * np.pi / look.rays)
    cos, sin = np.cos(angles).astype(np.float32), np.sin(angles).astype(np.float32)
    half = np.minimum(np.maximum(look.window * rims.r, look.least_px), 0.85 * rims.r)
    offsets = np.linspace(-1.0, 1.0, look.samples).astype(np.float32)
    # Sample by sample, then circle by circle and ray by ray: what is beside a sample along its ray is a whole row away.
    rho = (rims.r + half * offsets[:, None]).astype(np.float32)[..., None]
    x, y = (
        (middle.astype(np.float32)[:, None] + rho * way).reshape(look.samples, -1)
        for middle, way in ((rims.x, cos), (rims.y, sin))
    )
    flat = cv2.remap(image, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = [np.asarray(channel, np.float32) for channel in cv2.split(flat)]
    place, strength = (of.reshape(len(rims), look.rays) for of in _steps(seen, offsets, len(rims), look.saturate))
    found = rims.r.astype(np.float32)[:, None] + half.astype(np.float32)[:, None] * place
    return _circle(rims, found, strength, cos, sin)


def _steps(seen: Sequence[Singles], offsets: Singles, circles: int, saturate: bool) -> tuple[Singles, Singles]:
    """Strongest step of each ray: place in -1 .. 1 of the window and size, both (circles * rays,).

    Parameters
    ----------
    seen : three ndarrays (samples, circles * rays)
        How the colour differs from the panel's, channel by channel.
    offsets : ndarray (samples,)
        Where in the window they lie.
    """
    lag = max(1, round(len(offsets) / 10))
    inner, outer = slice(None, -2 * lag), slice(2 * lag, None)
    far = _squares(seen)
    if saturate:
        share = _saturated(np.sqrt(far), circles)
        seen = [one * share for one in seen]
        far *= share * share
    size = _squares([one[outer] - one[inner] for one in seen])
    np.sqrt(size, out=size)
    outward = far[outer] > far[inner] * np.float32(1.2) + np.float32(1e-4)
    size -= size * outward * np.float32(1 - OUTWARD_SHARE)
    middle = offsets[lag:-lag]
    weighed = size * np.exp(-0.5 * (middle / 0.6) ** 2)[:, None]
    best = np.clip(weighed.argmax(0), 1, len(middle) - 2)
    at = best * size.shape[1] + np.arange(size.shape[1])
    before, top, after = (weighed.ravel()[at + k * size.shape[1]] for k in (-1, 0, 1))
    bend = before - 2 * top + after
    # Where the steepest is at the window's end, no peak is there to be found more finely.
    shift = np.where(bend < -1e-12, np.float32(0.5) * (before - after) / np.minimum(bend, np.float32(-1e-12)), 0)
    shift = np.clip(shift, -0.7, 0.7)
    return middle[best] + shift * (offsets[1] - offsets[0]), size.ravel()[at]


def _squares(channels: Sequence[Singles]) -> Singles:
    """Squares of the lengths of colours; along a short last axis their sums take many times as long."""
    total = channels[0] * channels[0]
    for one in channels[1:]:
        total += one * one
    return total


def _saturated(away: Singles, circles: int) -> Singles:
    """What colours so far from the panel's are multiplied by: a dot's highlight and its shaded side then differ little
    from the rest of it.
    """
    samples = len(away)
    inside = away[: samples // 3].reshape(samples // 3, circles, -1).swapaxes(0, 1).reshape(circles, -1)
    own = SATURATION * np.maximum(medians(inside), np.float32(1e-3))
    share = away + np.repeat(own, away.shape[1] // max(circles, 1))
    return np.divide(1, share, out=share)


def _solved(normal: Floats, right: Floats) -> Floats:
    """Solutions (n, 3) of symmetric positive equations (n, 6), by Cramer's rule: quicker for many small ones."""
    a, b, c, d, e, f = normal.T
    a, d, f = a + 1e-6, d + 1e-6, f + 1e-6
    x, y, z = right.T
    ba, bb, bc, bd, be, bf = d * f - e * e, c * e - b * f, b * e - c * d, a * f - c * c, b * c - a * e, a * d - b * b
    whole = a * ba + b * bb + c * bc
    found = np.empty((len(a), 3))
    found[:, 0], found[:, 1], found[:, 2] = ba * x + bb * y + bc * z, bb * x + bd * y + be * z, bc * x + be * y + bf * z
    return found / whole[:, None]


def _circle(rims: Rims, found: Singles, strength: Singles, cos: Singles, sin: Singles) -> Rims:
    """Robust circle through `found` (n, rays), distances along the rays from the old middle."""
    usual = medians(strength)
    base = np.clip(strength / np.maximum(usual, np.float32(1e-9))[:, None], 0.05, 1.0)
    terms = np.column_stack([np.ones_like(cos), cos, sin])
    squares = np.column_stack([terms, cos * cos, cos * sin, sin * sin])
    near = (NEAR_PX + NEAR_SHARE * rims.r).astype(np.float32)[:, None]
    rest = found - medians(found)[:, None]
    for k in range(ROUNDS):
        # The first rounds forgive more, so that a circle can walk to its place.
        rest /= near * np.float32(2.0) if k < 2 else near
        rest *= rest
        rest += 1
        weight = base / (rest * rest)
        solved = _solved((weight @ squares).astype(float), ((weight * found) @ terms).astype(float))
        rest = found - solved.astype(np.float32) @ terms.T
    # A ray whose step is far weaker than the usual one sees no rim.
    on_rim = (np.abs(rest) < near) & (strength > np.float32(0.3) * usual[:, None])
    count = on_rim.sum(1)
    noise = np.sqrt((rest * rest * on_rim).sum(1) / np.maximum(count - 3, 1))
    limit = 0.6 * rims.r
    return replace(
        rims,
        x=rims.x + np.clip(solved[:, 1], -limit, limit),
        y=rims.y + np.clip(solved[:, 2], -limit, limit),
        r=np.clip(solved[:, 0], 0.5 * rims.r, 1.8 * rims.r),
        coverage=count / found.shape[1],
        noise_px=noise,
        step=usual.astype(float),
    )
