"""Where the rim lies in a portrait: the circle that passes through the steps all around it."""

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.portraits import Portrait
from aligncheck.dots.view import DotView
from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Rays around the middle, and steps along each, mm.
RAYS, ALONG_MM = 64, 0.02
#: The rim lies within this of the rough radius: a share of it and mm, at most so many mm.
REACH, REACH_MM, MOST_MM = 0.22, 0.08, 0.45
#: Blur of a step in pixels of the view: brightness as lens and resampling leave it, colour at half resolution; and half
#: the length over which a step is told from a slope, mm, no more than this share of the radius.
BRIGHT_PX, COLOUR_PX = 1.0, 2.2
BRIGHT_MM, COLOUR_MM, MOST_SHARE = 0.4, 0.6, 0.7
#: Noise of a portrait in codes: of brightness, the weave and grain; of colour, which files store smoothed.
BRIGHT_NOISE, COLOUR_NOISE = 1.5, 0.7
#: From a coarse to a fine grid of circles: steps, mm, and how many to each side.
GRIDS = ((0.06, 2), (0.03, 2), (0.01, 3), (0.005, 2))
#: The portrait is the mean of dots each laid by its own rim, so that its middle is the rim's but for this: a share of
#: the radius and mm (standard deviation).
OFF_SHARE, OFF_MM = 0.03, 0.02


def outline(portrait: Portrait, view: DotView) -> tuple[float, Floats]:
    """Radius of the rim, and its middle (2,) from the portrait's, both mm."""
    r = portrait.radius_mm
    reach = min(REACH * r + REACH_MM, MOST_MM)
    steps = int(np.ceil(reach / ALONG_MM))
    angle = np.asarray(np.arange(RAYS) * (2 * np.pi / RAYS), float)
    found = _steps(portrait, view.px_per_mm, angle, steps)
    # A ray counts by its step as against the usual one: a faint rim little, the strongest no more than the strong.
    found = found / (found + max(median(found.max(1)), 1e-9))
    terms = np.column_stack([np.ones(RAYS), np.cos(angle), np.sin(angle)])
    off_sd = OFF_SHARE * r + OFF_MM
    best = np.zeros(3)
    for k, (step, count) in enumerate(GRIDS):
        tries = best + _grid(step, count, reach if k == 0 else None)
        place = tries @ terms.T / ALONG_MM + steps
        value = _between(found, place).sum(1) - 0.5 * (tries[:, 1:] ** 2).sum(1) / off_sd**2
        best = tries[value.argmax()]
    return r + float(best[0]), np.asarray(best[1:], float)


@lru_cache(maxsize=256)
def _grid(step: float, count: int, reach: float | None) -> Floats:
    """Changes (n, 3) of radius and middle, so many steps to each side; of the radius half steps up to `reach`."""
    sides = np.arange(-count, count + 1) * step
    radii = sides if reach is None else np.arange(-reach, reach + step / 4, step / 2)
    return np.stack(np.meshgrid(radii, sides, sides, indexing="ij"), -1).reshape(-1, 3)


def _steps(portrait: Portrait, px_per_mm: float, angle: Floats, steps: int) -> Floats:
    """How clearly the colour steps (not slopes) at each place (rays, 2 steps + 1) along the rays."""
    r, middle = portrait.radius_mm, portrait.picture.shape[0] // 2
    total = np.zeros((len(angle), 2 * steps + 1))
    for channels, blur, length, noise in (
        ((0,), BRIGHT_PX, BRIGHT_MM, BRIGHT_NOISE),
        ((1, 2), COLOUR_PX, COLOUR_MM, COLOUR_NOISE),
    ):
        half = max(2, int(min(length, MOST_SHARE * r) / ALONG_MM))
        matched = _matched(half, blur / px_per_mm)
        radius = r + np.arange(-steps - half, steps + half + 1) * ALONG_MM
        place = (radius / portrait.step_mm)[None, :, None] * np.stack([np.cos(angle), np.sin(angle)], -1)[:, None]
        px = (place + middle).astype(np.float32)
        seen = cv2.remap(portrait.picture, px[..., 0], px[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for channel in channels:
            codes = np.ascontiguousarray(seen[..., channel] * 255)
            answer = cv2.filter2D(codes, cv2.CV_32F, matched[None])[:, half:-half]
            total += (answer / (noise * np.sqrt(half))).astype(float) ** 2
    return total


@lru_cache(maxsize=256)
def _matched(half: int, blur_mm: float) -> Singles:
    """A filter (2 half + 1,) of length 1 that answers to a blurred step but not to an even slope."""
    along = np.arange(-half, half + 1) * ALONG_MM
    step = normal_cdf(along / blur_mm)
    slope, _ = np.linalg.qr(np.stack([np.ones_like(along), along], -1))
    left = step - slope @ (slope.T @ step)
    return np.asarray(left / np.linalg.norm(left), np.float32)


def _between(table: Floats, place: Floats) -> Floats:
    """Values (n, rays) of a table (rays, m) at fractional places (n, rays), 0 outside."""
    rows, columns = table.shape
    lower = np.clip(place.astype(np.int64), 0, columns - 2)
    share = place - lower
    at, flat = lower + np.arange(rows) * columns, table.ravel()
    value = flat.take(at)
    value += share * (flat.take(at + 1) - value)
    return np.asarray(np.where((share >= 0) & (share <= 1), value, 0.0), float)
