"""Circles through rims: along rays from each middle the strongest colour step, and the circle through most of them.

All circles are worked at once; nothing loops over dots.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.channels import lengths
from aligncheck.geometry.small import medians
from aligncheck.side_by_side import all_at_once

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: So many samples are worked at a time, which bounds memory: a megabyte an array, and arrays are many.
SAMPLES = 80_000
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
    starts = range(0, len(rims), size)
    parts = all_at_once(lambda k: _fit(image, rims.take(np.arange(k, min(k + size, len(rims)))), look), starts)
    if not parts:
        return rims
    return Rims(
        *(np.concatenate([getattr(p, k) for p in parts]) for k in ("x", "y", "r", "coverage", "noise_px", "step"))
    )


def _fit(image: Singles, rims: Rims, look: Look) -> Rims:
    angles = np.arange(look.rays) * (2 * np.pi / look.rays)
    cos, sin = np.cos(angles).astype(np.float32), np.sin(angles).astype(np.float32)
    half = np.maximum(look.window * rims.r, look.least_px)
    half = np.minimum(half, 0.85 * rims.r)
    offsets = np.linspace(-1.0, 1.0, look.samples).astype(np.float32)
    rho = (rims.r[:, None] + half[:, None] * offsets).astype(np.float32)
    x = rims.x[:, None, None].astype(np.float32) + rho[:, None, :] * cos[:, None]
    y = rims.y[:, None, None].astype(np.float32) + rho[:, None, :] * sin[:, None]
    n = len(rims)
    shape = (n * look.rays // 8 if n * look.rays % 8 == 0 else n * look.rays, -1)
    flat = cv2.remap(image, x.reshape(shape), y.reshape(shape), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = np.asarray(flat, np.float32).reshape(n, look.rays, look.samples, 3)
    away = lengths(seen)
    if look.saturate:
        seen, away = _saturated(seen, away)
    place, strength = _steps(seen, away, offsets)
    found = rims.r[:, None] + half[:, None] * place
    return _circle(rims, found, strength, cos.astype(float), sin.astype(float))


def _saturated(seen: Singles, away: Singles) -> tuple[Singles, Singles]:
    """Colours and their lengths relative to the dot's own: its highlight and its shaded side then differ little from
    the rest of it.
    """
    inside = away[:, :, : seen.shape[2] // 3].reshape(len(seen), -1)
    own = SATURATION * np.maximum(medians(inside), np.float32(1e-3))
    share = 1 / (away + own[:, None, None])
    three = cv2.merge([share.reshape(len(share), -1)] * 3).reshape(seen.shape)
    return np.asarray(np.multiply(seen, three, out=seen), np.float32), np.asarray(away * share, np.float32)


def _steps(seen: Singles, away: Singles, offsets: Singles) -> tuple[Floats, Floats]:
    """Strongest step of each ray, whose colours lie `away` from the panel's: place in -1 .. 1 of the window and size,
    both (n, rays).
    """
    lag = max(1, round(len(offsets) / 10))
    size = lengths(seen[:, :, 2 * lag :] - seen[:, :, : -2 * lag])
    far = away * away
    far_in, far_out = far[:, :, : -2 * lag], far[:, :, 2 * lag :]
    np.multiply(size, np.float32(OUTWARD_SHARE), out=size, where=far_out > far_in * np.float32(1.2) + np.float32(1e-4))
    middle = offsets[lag:-lag]
    weighed = size * np.exp(-0.5 * (middle / 0.6) ** 2)
    best = np.clip(weighed.argmax(-1), 1, len(middle) - 2)[..., None]
    before, at, after = (np.take_along_axis(weighed, best + k, -1)[..., 0] for k in (-1, 0, 1))
    bend = before - 2 * at + after
    shift = np.where(bend < -1e-12, 0.5 * (before - after) / np.minimum(bend, -1e-12), 0.0)
    spacing = float(offsets[1] - offsets[0])
    place = middle[best[..., 0]] + np.clip(shift, -0.7, 0.7) * spacing
    return place.astype(float), np.take_along_axis(size, best, -1)[..., 0].astype(float)


def _solved(normal: Floats, right: Floats) -> Floats:
    """Solutions (n, 3) of symmetric positive equations (n, 9), by Cramer's rule: quicker for many small ones."""
    a, b, c, _, d, e, _, _, f = normal.T + 1e-6 * np.eye(3).reshape(9, 1)
    x, y, z = right.T
    ba, bb, bc, bd, be, bf = d * f - e * e, c * e - b * f, b * e - c * d, a * f - c * c, b * c - a * e, a * d - b * b
    whole = a * ba + b * bb + c * bc
    return np.stack([ba * x + bb * y + bc * z, bb * x + bd * y + be * z, bc * x + be * y + bf * z], -1) / whole[:, None]


def _circle(rims: Rims, found: Floats, strength: Floats, cos: Floats, sin: Floats) -> Rims:
    """Robust circle through `found` (n, rays), distances along the rays from the old middle."""
    usual = medians(strength)
    base = np.clip(strength / np.maximum(usual, 1e-9)[:, None], 0.05, 1.0)
    terms = np.column_stack([np.ones_like(cos), cos, sin])
    near = NEAR_PX + NEAR_SHARE * rims.r
    middle = medians(found)
    squares = (terms[:, :, None] * terms[:, None, :]).reshape(-1, 9)
    solved = np.column_stack([middle, np.zeros((len(rims), 2))])
    for k in range(ROUNDS):
        rest = found - solved @ terms.T
        # The first rounds forgive more, so that a circle can walk to its place.
        scale = near[:, None] * (2.0 if k < 2 else 1.0)
        weight = base / (1 + (rest / scale) ** 2) ** 2
        solved = _solved(weight @ squares, (weight * found) @ terms)
    rest = found - solved @ terms.T
    # A ray whose step is far weaker than the usual one sees no rim.
    on_rim = (np.abs(rest) < near[:, None]) & (strength > 0.3 * usual[:, None])
    count = on_rim.sum(1)
    noise = np.sqrt((rest**2 * on_rim).sum(1) / np.maximum(count - 3, 1))
    limit = 0.6 * rims.r
    return replace(
        rims,
        x=rims.x + np.clip(solved[:, 1], -limit, limit),
        y=rims.y + np.clip(solved[:, 2], -limit, limit),
        r=np.clip(solved[:, 0], 0.5 * rims.r, 1.8 * rims.r),
        coverage=count / found.shape[1],
        noise_px=noise,
        step=usual,
    )
