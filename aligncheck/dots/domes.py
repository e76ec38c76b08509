"""Whole domes around what stands out of them: in the panel's own colour only the highlight or the lit side does.

A dome that is lit from one side is light towards the lamp, dark away from it, and throws a shadow there. Where its
paint is much like the panel, the light part alone is taken for a dot: too small, and off its place. Here the middle
picture of each kind is laid on patterns of all sizes, places and ways of the light; each has a lit part and a dark one,
which together are a disc, and a shadow beside it. Where one that is larger than the dot explains the picture better
than any of the dot's own size does, and its two parts differ as light and shade do, the dot was only a part of it.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy import fft
from numpy.typing import NDArray

from aligncheck.dots.measured import measured
from aligncheck.dots.portraits import Portrait, seen_about
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.small import medians

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Fewer dots than this make no middle picture; only those of the kind's size (natural log) sit for it.
LEAST_SITTERS, SITS = 3, 0.1
#: The picture reaches this far from the middle, radii and mm: a highlight is a third of its dome and less, but of large
#: domes at least the lit half is seen. So many points wide.
REACH, REACH_MM, POINTS = 2.6, 1.2, 32
#: Brightness that differs from the panel's by more than this (0 to 1) says no more: a highlight counts as lit paint.
HALF = 0.05
#: The least noise of a picture, and so many times of it make a place that differs from dot to dot: a neighbour.
LEAST_NOISE, ODD = 0.1, 4.0
#: The panel's own brightness is the middle one so far out (share of the width) of all that is no farther from it than
#: the relief of a weave and a lamp's fall are: chalk and paint are.
BORDER, PANEL = 0.4, 0.08
#: Patterns: radii in points, ways of the light, where light turns to shade (shares of the radius towards the lamp),
#: how softly, and how far the shadow is thrown (share of the radius).
RADII, WAYS, TURNS, SOFT, THROWN = 2.6 * 1.1 ** np.arange(15), 12, (-0.3, 0.0, 0.3), 0.3, (0.3, 0.5, 0.8)
#: Blur of a pattern's edge, in points; of the shadow's, a share of the radius more.
BLUR, SHADOW_BLUR = 0.75, 0.15
#: What keeps the parts' strengths finite where they cannot be told apart.
STIFF = 1e-3
#: The lit part is lighter than the panel and the dark part darker by this at least, on the picture's scale of -1 to 1:
#: else the whole dome stands out from the panel one way, and was seen as a whole.
LEAST = 0.33
#: Of each part so large a share is lighter or darker than this.
NEARLY, SEEN = 2 / 3, 0.1
#: A dot is as large as it was taken for within this (natural log); a dome is larger, and explains this much more.
OWN, LARGER, BETTER = 0.2, 0.22, 1.1
#: A highlight or lit side lies within its dome, but for this share of its radius.
OUTSIDE = 0.6
#: The middle of what was seen lies aside from the dome's by this share of the dome's radius, towards the lamp (cosine);
#: the middle of a dot that was seen as a whole is right to this share of its own.
ASIDE, TOWARDS, MOVED = 0.2, 0.7, 0.35
#: A dome explains this share of all that is seen within so many of its radii.
EXPLAINED, AROUND = 0.75, 1.3
#: Last steps towards the best place and size, shares of the radius.
FINER = (0.15, 0.1, 0.05, 0.025)


@dataclass(frozen=True)
class Dome:
    """A disc: its middle (2,) from the dot's, mm, and radius; which way the light comes, and how much it explains."""

    off_mm: Floats
    radius_mm: float
    way: int
    gain: float


def whole(view: DotView, slots: Slots, centre_mm: Floats) -> tuple[Slots, Mask]:
    """The places with those kinds grown to whole domes that were only parts of them, and which kinds these are."""
    kinds = [np.flatnonzero(slots.orbit == k) for k in range(int(slots.orbit.max(initial=-1)) + 1)]
    pictures = [_picture(view, slots, mine, centre_mm) for mine in kinds]
    found = [None if p is None else _dome(p, list(range(WAYS))) for p in pictures]
    ways = np.bincount([d.way for d in found if d], minlength=WAYS)
    grown = np.zeros(len(kinds), bool)
    if not ways.any():
        return slots, grown
    # All domes of a panel are lit by the same lamp.
    way = int((ways + np.roll(ways, 1) + np.roll(ways, -1) + 0.5 * ways).argmax())
    near = [(way + k) % WAYS for k in (-1, 0, 1)]
    xy, radius = slots.circles.xy_mm.copy(), slots.circles.radius_mm.copy()
    for k, (mine, picture, dome) in enumerate(zip(kinds, pictures, found, strict=True)):
        if picture is None or dome is None:
            continue
        one = dome if dome.way in near else _dome(picture, near)
        one = None if one is None else _finer(picture, one)
        if one is None:
            continue
        grown[k] = True
        ratio = radius[mine] / picture.radius_mm
        xy[mine] += ratio[:, None] * one.off_mm
        radius[mine] = ratio * one.radius_mm
    px = view.to_view(xy + centre_mm)
    rims = replace(slots.circles.rims, x=px[:, 0], y=px[:, 1], r=radius * view.px_per_mm)
    return replace(slots, circles=measured(view, rims, centre_mm), place_mm=_moved(slots, xy)), grown


def _moved(slots: Slots, xy_mm: Floats) -> Floats:
    """Places (n, 2) moved as their kinds' circles were, in the middle."""
    place = slots.place_mm.copy()
    for k in range(int(slots.orbit.max(initial=-1)) + 1):
        mine = slots.orbit == k
        here = mine & slots.filled
        place[mine] += np.median(xy_mm[here] - slots.circles.xy_mm[here], axis=0)
    return place


@dataclass(frozen=True)
class _Picture:
    """Middle brightness (m, m) about a kind's dots, brought to -1 .. 1; 0 where it differs from dot to dot."""

    light: Singles
    step_mm: float
    radius_mm: float


def _picture(view: DotView, slots: Slots, mine: NDArray[np.int64], centre_mm: Floats) -> _Picture | None:
    here = mine[slots.filled[mine]]
    if len(here) < LEAST_SITTERS:
        return None
    radius = float(np.median(slots.circles.radius_mm[here]))
    alike = np.abs(np.log(slots.circles.radius_mm[here] / radius)) < SITS
    here = here[alike] if alike.sum() >= LEAST_SITTERS else here
    step = 2 * (REACH * radius + REACH_MM) / POINTS
    empty = Portrait(np.zeros((POINTS, POINTS, 3), np.float32), step, radius, np.ones(3))
    seen = seen_about(view, empty, slots.circles.xy_mm[here] + centre_mm, np.ones(len(here)))[..., 0]
    # The panel may lie a little lighter or darker here than all of it does.
    x, y = _points()
    border = fft.fftshift(np.maximum(np.abs(x), np.abs(y)) > BORDER * POINTS)
    around = seen[:, border]
    around = around[np.abs(around) < PANEL]
    light = np.tanh((seen - (np.median(around) if len(around) else 0.0)) / np.float32(HALF))
    middle = medians(light, axis=0)
    spread = 1.48 * medians(np.abs(light - middle), axis=0)
    noise = ODD * max(float(np.median(spread)), LEAST_NOISE)
    return _Picture(np.asarray(middle / (1 + (spread / noise) ** 2), np.float32), step, radius)


def _dome(picture: _Picture, ways: list[int]) -> Dome | None:
    """The dome in light and shade that the dot in the middle is, or of which it is a part, if there is one."""
    # Shifts are told from the middle.
    light = fft.ifftshift(picture.light)
    seen = fft.rfft2(light)
    x, y = _points()
    far, own = np.hypot(x, y), picture.radius_mm / picture.step_mm
    side = np.sign(light[far < own].mean())
    angle = 2 * np.pi * np.array(ways)[:, None] / WAYS
    larger = np.log(RADII / own)
    plain = 0.0
    for number in np.flatnonzero(np.abs(larger) < OWN):
        strength, match = _laid(seen, int(number), ways, far <= MOVED * own)
        plain = max(plain, float((strength * match).sum(2).max()))
    best = None
    for number in np.flatnonzero(larger > LARGER):
        radius = float(RADII[number])
        near = (far <= radius - OUTSIDE * own) & (far > ASIDE * radius)
        if not near.any():
            continue
        strength, match = _laid(seen, int(number), ways, near)
        lit, dark, shadow = np.moveaxis(strength, 2, 0)
        gain = (strength * match).sum(2) * _light_and_shade(lit, dark, shadow)
        # What is light lies towards the lamp, what is dark away from it.
        towards = -side * (x[near] * np.cos(angle) + y[near] * np.sin(angle))
        gain *= (towards > TOWARDS * far[near])[:, None]
        w, t, n = np.unravel_index(int(gain.argmax()), gain.shape)
        if gain[w, t, n] > (best.gain if best else BETTER * plain):
            off = np.array([x[near][n], y[near][n]]) * picture.step_mm
            best = Dome(off, radius * picture.step_mm, ways[w], float(gain[w, t, n]))
    if best is None:
        return None
    there = (
        np.hypot(x * picture.step_mm - best.off_mm[0], y * picture.step_mm - best.off_mm[1]) < AROUND * best.radius_mm
    )
    return best if best.gain > EXPLAINED * float((light[there] ** 2).sum()) else None


def _light_and_shade(lit: Floats, dark: Floats, shadow: Floats) -> Mask:
    """Whether the strengths of the parts are those of a dome in the panel's own colour."""
    return (lit > LEAST) & (dark < -LEAST) & (shadow < 0)


def _laid(
    seen: NDArray[np.complexfloating], number: int, ways: list[int], near: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Strengths of the parts, and how each matches, both (ways, turns, 3, places)."""
    patterns, inverse = _patterns(number)
    match = fft.irfft2(seen * patterns[ways], s=near.shape)[..., near]
    return inverse[ways] @ match, match


def _points() -> tuple[Floats, Floats]:
    """Points of a picture from its middle, which stands first, x and y (m, m)."""
    along = fft.fftfreq(POINTS, 1 / POINTS)
    x, y = np.meshgrid(along, along)
    return x, y


@cache
def _patterns(number: int) -> tuple[NDArray[np.complexfloating], Singles]:
    """Of each way and turn (w, t, 3) lit part, dark part and shadow, transformed; and their inverse products."""
    points = np.stack(_points(), -1)
    drawn = np.array([[_drawn(points, float(RADII[number]), w, t, THROWN[1]) for t in TURNS] for w in range(WAYS)])
    return np.conj(fft.rfft2(drawn.astype(np.float32))), np.asarray(_inverse(drawn), np.float32)


def _drawn(points: Floats, radius: float, way: int, turn: float, thrown: float) -> Floats:
    """Lit part, dark part and shadow (3, ...) of a disc about the origin, at points (..., 2), in units of `points`."""
    x, y = np.moveaxis(points, -1, 0)
    angle = 2 * np.pi * way / WAYS
    cos, sin = np.cos(angle), np.sin(angle)
    disc = _soft((radius - np.hypot(x, y)) / BLUR)
    lit = _soft(((x * cos + y * sin) / radius - turn) / SOFT)
    away = np.hypot(x + thrown * radius * cos, y + thrown * radius * sin)
    shadow = _soft((radius - away) / np.hypot(BLUR, SHADOW_BLUR * radius)) * (1 - disc)
    return np.stack([disc * lit, disc * (1 - lit), shadow])


def _soft(far: Floats) -> Floats:
    """A step from 0 to 1 about 0, in single steps of its blur."""
    return np.asarray(0.5 + 0.5 * np.tanh(far), float)


def _inverse(drawn: Floats) -> Floats:
    """Inverse (..., 3, 3) of the products of patterns (..., 3, h, w)."""
    flat = drawn.reshape(*drawn.shape[:-2], -1)
    products = flat @ np.swapaxes(flat, -1, -2)
    return np.linalg.inv(products + STIFF * np.trace(products, axis1=-2, axis2=-1)[..., None, None] / 3 * np.eye(3))


def _finer(picture: _Picture, dome: Dome) -> Dome | None:
    """The dome between the points of the picture and between the sizes of the patterns; None where it is none."""
    along = (np.arange(POINTS) - POINTS // 2) * 1.0
    points = np.stack(np.meshgrid(along, along), -1)
    light = picture.light.reshape(-1).astype(float)
    best = dome
    sides = np.stack(np.meshgrid(*[(-1, 0, 1)] * 3, indexing="ij"), -1).reshape(-1, 3)
    for step in FINER:
        tries = []
        for dx, dy, dr in sides * step * best.radius_mm:
            off, radius = best.off_mm + (dx, dy), best.radius_mm + dr
            at, size = points - off / picture.step_mm, radius / picture.step_mm
            drawn = np.stack([_drawn(at, size, best.way, turn, thrown) for turn in TURNS for thrown in THROWN])
            match = drawn.reshape(len(drawn), 3, -1) @ light
            strength = (_inverse(drawn) @ match[..., None])[..., 0]
            gain = (strength * match).sum(1) * _light_and_shade(*strength.T)
            tries.append(Dome(off, radius, best.way, float(gain.max())))
        best = max(tries, key=lambda one: one.gain)
    return (
        best if best.gain > 0 and _plain_parts(light, points - best.off_mm / picture.step_mm, best, picture) else None
    )


def _plain_parts(light: Floats, at: Floats, dome: Dome, picture: _Picture) -> bool:
    """Whether nearly all of the lit part is light and of the dark part dark, not only the most of each."""
    size = dome.radius_mm / picture.step_mm
    drawn = np.stack([_drawn(at, size, dome.way, turn, THROWN[1]) for turn in TURNS])[:, :2].reshape(len(TURNS), 2, -1)
    share = np.stack([drawn[:, 0] @ (light > SEEN), drawn[:, 1] @ (light < -SEEN)], -1) / drawn.sum(2)
    return bool(share.min(1).max() > NEARLY)
