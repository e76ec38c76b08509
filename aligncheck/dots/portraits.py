"""What a kind's dots look like, and where each of them lies by that.

The dots of one kind are of one paint, stand in one light and lie on one panel. Laid on one another they show one
picture, highlight and shaded side included, while what differs from one to the next is no part of it: the weave, chalk
lines, neighbours that lie the other way round in each segment. Each dot is then laid on that picture as a whole, which
is much steadier than a circle through its own edges: chalk at its side, its highlight, its shaded rim pull at nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.view import DotView
from aligncheck.geometry.channels import summed
from aligncheck.geometry.small import median, medians

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: A portrait reaches beyond the rim by this share of the radius and so many mm, and is at most so many points wide.
BEYOND, BEYOND_MM, MOST_POINTS = 0.25, 0.6, 49
#: Its points lie no closer than this, in pixels of the view: between pixels lies nothing new.
LEAST_PX = 1.0
#: Shading inside a large dot and its highlight shift with the light and the eye: only so much inside the rim counts,
#: as a share of the radius and in mm at least.
WITHIN, WITHIN_MM = 0.35, 0.9
#: Rounds of painting the portrait and laying the dots on it, steps of the latter in each round.
ROUNDS, STEPS = 2, 3
#: What these moved by more than this share of the radius is not there yet: a dot much larger than its kind shows little
#: that is like it at first, and comes to its size slowly. So many times the steps are taken again.
SETTLED, AGAIN = 0.01, 6
#: What counts as a dot of the kind has this share of the kind's usual likeness.
LEAST_OF_USUAL = 0.45
#: What differs by so many times the usual is something else and counts little; the least that is usual: one code.
OTHER, LEAST_NOISE = 3.0, 0.006
#: A hand's spread of size within a kind (natural log), and of light across a panel.
SIZE_SD, LIGHT_SD = 0.08, 0.2
#: Points near one another differ alike, by blur and weave, and a dot is no exact copy: so many times the spread that
#: points on their own would give; the same for dots of 1 to 13 mm on eight panels.
ALIKE_POINTS = 6.0
#: Far from where it was first seen no dot lies: mm, and a share of the radius.
PLACE_SD_MM, PLACE_SD_SHARE = 0.3, 0.1
#: What `Laid` has of each dot.
LAID = ("xy_mm", "ratio", "light", "likeness", "ratio_sd")


@dataclass(frozen=True)
class Laid:
    """Dots laid on their portrait, arrays (n, ...).

    Attributes
    ----------
    xy_mm : ndarray (n, 2)
        Where the portrait's middle lies.
    ratio : ndarray (n,)
        Size over the portrait's.
    light : ndarray (n,)
        Brightness over the portrait's.
    likeness : ndarray (n,)
        1 where all of a dot looks as the portrait does, -1 where all looks like the bare panel.
    ratio_sd : ndarray (n,)
        Standard deviation of `ratio`.
    """

    xy_mm: Floats
    ratio: Floats
    light: Floats
    likeness: Floats
    ratio_sd: Floats

    def take(self, which: NDArray[np.generic]) -> "Laid":
        """Those at `which` (indices or mask)."""
        return Laid(*(getattr(self, k)[which] for k in LAID))

    def put(self, where: NDArray[np.generic], other: "Laid") -> "Laid":
        """These with the `other` ones at `where` (indices or mask)."""
        mixed = Laid(*(getattr(self, k).copy() for k in LAID))
        for k in LAID:
            getattr(mixed, k)[where] = getattr(other, k)
        return mixed

    @classmethod
    def at(cls, xy_mm: Floats, ratio: Floats) -> "Laid":
        """Dots of which nothing else is known."""
        n = len(xy_mm)
        return cls(np.array(xy_mm, float), np.array(ratio, float), np.ones(n), np.full(n, -1.0), np.full(n, SIZE_SD))


@dataclass(frozen=True)
class Portrait:
    """Mean picture of a kind.

    Attributes
    ----------
    picture : ndarray (m, m, 3)
        Difference from the bare panel, about the dot's middle.
    step_mm : float
        From one point to the next.
    radius_mm : float
        Roughly; the outline tells.
    noise : ndarray (3,)
        By which a dot of the kind differs from the picture.
    """

    picture: Singles
    step_mm: float
    radius_mm: float
    noise: Floats

    @cached_property
    def offsets_mm(self) -> Floats:
        """Places (m, m, 2) of the points about the middle."""
        return _offsets(self.picture.shape[0], self.step_mm)


def paint(
    view: DotView, xy_mm: Floats, ratio: Floats, radius_mm: float, model: NDArray[np.bool_]
) -> tuple[Portrait, Laid]:
    """Paint the portrait of some dots (n) and lay each on it.

    Parameters
    ----------
    xy_mm : ndarray (n, 2)
        In the panel frame, roughly.
    ratio : ndarray (n,)
        Size over `radius_mm`, roughly.
    model : ndarray (n,) of bool
        Those that may sit for the portrait.
    """
    reach = (1 + BEYOND) * radius_mm + BEYOND_MM
    step = max(LEAST_PX / view.px_per_mm, 2 * reach / (MOST_POINTS - 1))
    points = 2 * int(np.ceil(reach / step)) + 1
    portrait = Portrait(np.zeros((points, points, 3), np.float32), step, radius_mm, np.full(3, LEAST_NOISE))
    start = laid = Laid.at(xy_mm, ratio)
    for k in range(ROUNDS):
        portrait = _painted(view, portrait, laid.take(model), first=k == 0)
        before, laid = laid, lay(view, portrait, laid, start, judged=k == ROUNDS - 1)
    return portrait, _settled(view, portrait, before, laid, start)


def _settled(view: DotView, portrait: Portrait, before: Laid, laid: Laid, start: Laid) -> Laid:
    """The dots as `laid`, those followed further that were elsewhere, or of another size, `before`.

    What then no longer looks like a dot of the kind went astray and stays as it was.
    """
    followed = laid
    for _ in range(AGAIN):
        moved = np.hypot(*(followed.xy_mm - before.xy_mm).T) > SETTLED * portrait.radius_mm * followed.ratio
        moving = np.flatnonzero(moved | (np.abs(np.log(followed.ratio / before.ratio)) > SETTLED))
        if not len(moving):
            break
        before = followed
        followed = before.put(moving, lay(view, portrait, before.take(moving), start.take(moving)))
    least = LEAST_OF_USUAL * median(laid.likeness)
    astray = (followed.likeness < least) & (followed.likeness < laid.likeness)
    return followed.put(astray, laid.take(astray))


def lay(
    view: DotView, portrait: Portrait, laid: Laid, start: Laid | None = None, steps: int = STEPS, judged: bool = True
) -> Laid:
    """Move dots so that they look as the portrait does, most of them; `start` is where they were first seen.

    How alike they then are stays as it was unless that is `judged`.
    """
    start = start or laid
    offsets = portrait.offsets_mm
    far = np.hypot(*np.moveaxis(offsets, -1, 0))
    r, size = portrait.radius_mm, portrait.picture.shape[0]
    ring = (far > r - max(WITHIN_MM, WITHIN * r)) & (far < (size // 2) * portrait.step_mm)
    down, across = np.gradient(portrait.picture, portrait.step_mm, axis=(0, 1))
    grown = offsets[..., :1] * across + offsets[..., 1:] * down
    # What a shift to the right, down, a larger size and more light change at each point, in units of noise.
    change = np.moveaxis(np.stack([-across, -down, -grown, portrait.picture], -1)[ring], 1, 0)
    change = np.asarray(change / portrait.noise[:, None, None], np.float32)
    products = (change[..., :, None] * change[..., None, :]).sum(0).reshape(-1, 16)
    noise = portrait.noise.astype(np.float32)
    on_ring = portrait.picture[ring].T / noise[:, None]
    place_sd = PLACE_SD_MM + PLACE_SD_SHARE * r
    # Points that differ alike tell less of a size than as many on their own: beside them the usual one weighs more.
    prior = 1 / np.array([place_sd, place_sd, SIZE_SD / ALIKE_POINTS, LIGHT_SD]) ** 2
    xy, ratio, light = laid.xy_mm.copy(), laid.ratio.copy(), laid.light.copy()
    limit, information = 0.25 * r, np.tile(np.diag(prior), (len(xy), 1, 1))
    for _ in range(steps):
        bright = light.astype(np.float32)[:, None]
        left = [
            seen / one - bright * wanted
            for seen, one, wanted in zip(
                _channels(seen_about(view, portrait, xy, ratio, ring)), noise, on_ring, strict=True
            )
        ]
        weight = 1 / (1 + _squares(left)) ** 2
        normal = (weight @ products).reshape(-1, 4, 4).astype(float)
        pull = sum((weight * one) @ of for one, of in zip(left, change, strict=True))
        held = np.column_stack([xy - start.xy_mm, np.log(ratio / start.ratio), light - 1])
        # Some are too big or small: what is far from the usual size is hardly drawn to it.
        drawn = np.tile(prior, (len(xy), 1))
        drawn[:, 2] /= 1 + (held[:, 2] / (OTHER * SIZE_SD)) ** 2
        information = normal + drawn[:, None] * np.eye(4)
        move = np.linalg.solve(information, (pull - held * drawn)[..., None])[..., 0]
        xy = xy + np.clip(move[:, :2] * ratio[:, None], -limit, limit)
        ratio = ratio * np.exp(np.clip(move[:, 2], -0.1, 0.1))
        light = np.clip(light + move[:, 3], 0.5, 1.8)
    likeness = _likeness(view, portrait, xy, ratio, light, far) if judged else laid.likeness
    return Laid(xy, ratio, light, likeness, ALIKE_POINTS * np.sqrt(np.linalg.inv(information)[:, 2, 2]) * ratio)


def _painted(view: DotView, portrait: Portrait, laid: Laid, first: bool) -> Portrait:
    """The mean of the dots as laid: the middle one at each point, then the mean of those that agree with it."""
    seen = seen_about(view, portrait, laid.xy_mm, laid.ratio)
    seen /= laid.light.astype(np.float32)[:, None, None, None]
    picture = medians(seen, axis=0)
    left = np.abs(seen - picture)
    noise = np.maximum(1.48 * medians(np.ascontiguousarray(left.reshape(-1, 3).T)), LEAST_NOISE)
    if not first:
        apart = ((seen - picture) / noise.astype(np.float32)).reshape(len(seen), -1, 3)
        weight = (1 / (1 + _squares(_channels(apart))) ** 2).reshape(*seen.shape[:-1], 1)
        picture = (picture + (weight * seen).sum(0)) / (1 + weight.sum(0))
    return replace(portrait, picture=np.asarray(picture, np.float32), noise=noise)


def _likeness(view: DotView, portrait: Portrait, xy: Floats, ratio: Floats, light: Floats, far: Floats) -> Floats:
    """How much better the portrait explains each place than the bare panel does."""
    near = far < portrait.radius_mm + portrait.step_mm
    bright = light.astype(np.float32)[:, None]
    wanted = portrait.picture[near].T / portrait.noise.astype(np.float32)[:, None]
    seen = _channels(seen_about(view, portrait, xy, ratio, near))
    seen = [one / noise for one, noise in zip(seen, portrait.noise.astype(np.float32), strict=True)]
    left = [one - bright * of for one, of in zip(seen, wanted, strict=True)]
    bare, dot = _unlike(seen), _unlike(left)
    return np.asarray((bare - dot).sum(1) / max(float(_unlike(list(wanted)).sum()), 1e-9), float)


def bare_share(view: DotView, portrait: Portrait, xy_mm: Floats) -> Floats:
    """Of what tells a dot from the bare panel at each place (n,), the share of points that look more like the panel.

    A line of chalk or a neighbour's shadow across a bare place outvotes nothing.
    """
    if not len(xy_mm):
        return np.zeros(0)
    near = np.hypot(*np.moveaxis(portrait.offsets_mm, -1, 0)) < portrait.radius_mm
    noise = portrait.noise.astype(np.float32)
    wanted = portrait.picture[near] / noise
    seen = seen_about(view, portrait, xy_mm, np.ones(len(xy_mm)), near) / noise
    telling = summed(wanted * wanted) > 1
    left = seen - wanted
    bare = summed(seen * seen) < summed(left * left)
    return np.asarray(bare[:, telling].mean(1) if telling.any() else np.zeros(len(xy_mm)), float)


def _channels(seen: Singles) -> list[Singles]:
    """The channels (n, k) of colours (n, k, 3): three numbers side by side are worked with ten times as slowly."""
    return [np.asarray(one, np.float32) for one in cv2.split(seen)]


def _squares(left: Sequence[Singles]) -> Singles:
    """How much is left (...) over all three channels, in units of noise: 1 for what is surely another thing."""
    total = left[0] * left[0]
    for one in left[1:]:
        total += one * one
    return np.multiply(total, np.float32(1 / OTHER**2), out=total)


def _unlike(left: Sequence[Singles]) -> Singles:
    """What is left, from 0 to 1."""
    square = _squares(left)
    return square / (1 + square)


def seen_about(
    view: DotView, portrait: Portrait, xy: Floats, ratio: Floats, which: NDArray[np.bool_] | None = None
) -> Singles:
    """The view (n, m, m, 3) about each place, its size brought to the portrait's; of some points (n, k, 3)."""
    offsets = portrait.offsets_mm.astype(np.float32)
    offsets = offsets if which is None else offsets[which][None]
    shape, columns = (len(xy), *offsets.shape[:-1], 3), offsets.shape[1]
    # In single precision from here on: exact to a thousandth of a pixel.
    middle, scale = view.to_view(xy).astype(np.float32), (ratio * view.px_per_mm).astype(np.float32)
    px = (middle[:, None, None] + scale[:, None, None, None] * offsets).reshape(-1, columns, 2)
    flat = cv2.remap(view.away, px[..., 0], px[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(flat, np.float32).reshape(shape if which is None else (len(xy), columns, 3))


def _offsets(points: int, step_mm: float) -> Floats:
    along = (np.arange(points) - points // 2) * step_mm
    return np.stack(np.meshgrid(along, along), -1)
