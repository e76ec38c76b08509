"""Rims inside dots: where one paint ends and another begins, all the way round.

A dot's middle colour at each distance from its own middle hardly knows its highlight, which is to one side. Where that
colour steps sharply, all the way round and in all dots of a kind, there is the rim of a dot on top.
"""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.sample import COLUMNS
from aligncheck.dots.slots import Slots
from aligncheck.dots.view import DotView
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.small import medians

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

#: Ways from the middle, and places along them, in pixels of the view.
WAYS, ALONG_PX = 24, 0.5
#: A rim's colour is compared so many pixels to both sides: blur takes less. A slope changes by half as much over twice
#: that, a step by nearly all of it.
SIDE_PX, SHARP = 2.0, 0.62
#: Two paints differ by this at least, in codes of 0 to 1, and by so many times the noise; between the two rims the
#: colour changes by less than this share of that.
STEP, NOISES, EVEN = 0.05, 8.0, 0.6
#: Such a share of the ways, and of the dots, must show so much of the step.
ROUND, OF_DOTS, SHOWS = 0.8, 0.6, 0.4
#: A kind tells by so many dots; the outermost pixels of a dot are its own rim's blur.
LEAST_DOTS, RIM_PX = 3, 2.0


class Top(NamedTuple):
    """A rim inside the dots of kind `orbit`: its radius as a share of theirs."""

    orbit: int
    share: float


def inner_rim(view: DotView, slots: Slots, mine: Integers, orbit: int, centre_mm: Floats) -> Top | None:
    """The rim inside the dots of one kind, if there is one."""
    if len(mine) < LEAST_DOTS:
        return None
    radius = slots.circles.radius_mm[mine]
    usual = float(np.median(radius)) * view.px_per_mm
    steps = max(int(usual / ALONG_PX), 1)
    side, last = round(SIDE_PX / ALONG_PX), steps - round(RIM_PX / ALONG_PX)
    places = np.arange(side + 1, last - 2 * side)
    if not len(places):
        return None
    seen = _polar(view, slots.circles.xy_mm[mine] + centre_mm, radius, steps)
    # One colour a distance of each dot, and of the kind.
    each = medians(np.ascontiguousarray(seen.transpose(1, 0, 2, 3)), axis=0)
    kind = medians(each, axis=0)
    size = lengths(kind[places + side] - kind[places - side])
    peaks = places[(size >= np.append(size[1:], 0)) & (size > np.append(0, size[:-1]))]
    # From the outside in: a dot on top may have one on top itself.
    for at in peaks[::-1]:
        if _steps(kind, each, int(at), side, last) and _closes(seen, kind[at + side] - kind[at - side], int(at), side):
            return Top(orbit, (at + 0.5) / steps)
    return None


def _polar(view: DotView, xy_mm: Floats, radius_mm: Floats, steps: int) -> Singles:
    """Colours (n, ways, steps, 3) from the middle to the rim of dots."""
    angle = np.arange(WAYS) * (2 * np.pi / WAYS)
    way = np.stack([np.cos(angle), np.sin(angle)], -1)
    share = (np.arange(steps) + 0.5) / steps
    reach = radius_mm[:, None, None, None] * share[:, None]
    px = view.to_view(xy_mm[:, None, None] + reach * way[:, None]).reshape(-1, 2).astype(np.float32)
    pad = -len(px) % COLUMNS
    rows = np.pad(px, ((0, pad), (0, 0))).reshape(-1, COLUMNS, 2)
    flat = cv2.remap(view.away, rows[..., 0], rows[..., 1], cv2.INTER_LINEAR).reshape(-1, 3)
    return np.asarray(flat[: len(px)], np.float32).reshape(len(xy_mm), WAYS, steps, 3)


def _steps(kind: Singles, each: Singles, at: int, side: int, last: int) -> bool:
    """Whether one even paint ends sharply `at` a place and another begins, in a kind and in `each` dot of it."""
    step = float(np.linalg.norm(kind[at + side] - kind[at - side]))
    wider = float(np.linalg.norm(kind[min(at + 2 * side, last)] - kind[max(at - 2 * side, 0)]))
    spread = 1.48 * float(np.median(lengths(each[:, at] - kind[at])))
    outer = kind[at + side : last]
    return (
        step > max(STEP, NOISES * spread / np.sqrt(len(each)))
        and step > SHARP * wider
        and float(lengths(outer - outer[0]).max()) < EVEN * step
    )


def _closes(seen: Singles, step: Singles, at: int, side: int) -> bool:
    """Whether the `step` at a place shows all the way round, and in nearly all dots (n, ways, places, 3)."""
    shows = (seen[:, :, at + side] - seen[:, :, at - side]) @ step / (step @ step)
    around, of_dots = (np.median(shows, axis=k) > SHOWS for k in (0, 1))
    return bool(around.mean() >= ROUND and of_dots.mean() >= OF_DOTS)
