"""The colour of every dot, and which dots are of one paint: CIELAB and CIEDE2000, light evened out."""

from collections.abc import Callable, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import cube_root_colours, lab_of
from aligncheck.dots.dots import Dot
from aligncheck.geometry.colour_difference import ciede2000
from aligncheck.geometry.linkage import average_linkage
from aligncheck.panel import Panel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: Where a dot's colour is taken: shares of its radius, directions. The rim is mixed with what lies beside it.
INSIDE, DIRECTIONS = (0.15, 0.35, 0.55), 12
#: Of these points the lightest may be a highlight and the darkest shade: what lies between is the paint.
PAINT_SHARE = (0.2, 0.7)
#: Rounds of reweighting of the light's surface, and what holds its terms down where dots do not tell them.
ROUNDS, STIFFNESS = 8, 0.5
#: Dots nearer than this on the average (CIEDE2000) are of one paint: twice what one paint differs by across a panel.
ONE_PAINT = 6.0
#: From all paints that larger dots show a small dot's own is at least this far.
ANOTHER_PAINT = 14.0
#: So many dots at most are compared with one another; the others then go to the nearest paint.
COMPARED = 800


def dot_colours(photo: Photo, panel: Panel, dots: Sequence[Dot], covered: Floats | None = None) -> Floats:
    """CIELAB (n, 3) of every dot, as if the panel were lit alike everywhere.

    Parameters
    ----------
    covered : ndarray (n,), optional
        Share of each dot's radius within which another dot covers it.
    """
    if not dots:
        return np.zeros((0, 3))
    centre = np.array([d.centre_mm for d in dots])
    radius = np.array([d.diameter_mm for d in dots]) / 2
    angle = np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS)
    within = np.zeros(len(dots)) if covered is None else covered
    far = within[:, None] + (1 - within[:, None]) * np.array(INSIDE)
    spots = far[:, :, None, None] * np.stack([np.cos(angle), np.sin(angle)], -1)
    points = panel.to_photo(centre[:, None] + radius[:, None, None] * spots.reshape(len(dots), -1, 2)).astype(
        np.float32
    )
    codes = np.concatenate([
        cv2.remap(photo.rgb, part[..., 0], part[..., 1], cv2.INTER_LINEAR)
        for part in np.array_split(points, max(1, len(points) // 8192))
    ])  # fmt: skip
    seen = np.sort(codes, axis=1)[:, slice(*(round(s * points.shape[1]) for s in PAINT_SHARE))]
    colours = cube_root_colours(seen).mean(1).astype(float)
    return lab_of((colours / _light(colours, dots, panel))[None].astype(np.float32))[0].astype(float)


def _light(colours: Floats, dots: Sequence[Dot], panel: Panel) -> Floats:
    """How much lighter (n, 3) than in the mean each dot is lit, as a factor of cube-root colours.

    Dots of one kind are of one paint as a rule, so what differs among them is the light: a smooth surface of log
    colour that all kinds share, fitted with weights that let odd dots go. The bare panel would tell it worse: a dark
    one shines more than it reflects.
    """
    xy = np.array([d.centre_mm for d in dots]) / (max(panel.width_mm, panel.height_mm) / 2)
    kind = np.array([-1 if d.kind is None else d.kind for d in dots])
    x, y = xy.T
    terms = np.column_stack([x, y, x * x, x * y, y * y])
    value = np.log(np.maximum(colours, 0.02))
    known = kind >= 0
    if known.sum() < 5 * terms.shape[1]:
        return np.ones_like(colours)
    a, v = _less_medians(terms[known], kind[known], np.mean), _less_medians(value[known], kind[known], np.median)
    weight: Floats = np.ones(len(v))
    surface: Floats = np.zeros((terms.shape[1], 3))
    for _ in range(ROUNDS):
        normal = a.T @ (weight[:, None] * a) + STIFFNESS * np.eye(terms.shape[1])
        surface = np.asarray(np.linalg.solve(normal, a.T @ (weight[:, None] * v)), float)
        left = np.linalg.norm(v - a @ surface, axis=1)
        weight = 1.0 / (1 + (left / (2 * max(float(np.median(left)), 1e-3))) ** 2) ** 2
    light = terms @ surface
    return np.asarray(np.exp(light - light.mean(0)), float)


def _less_medians(values: Floats, kind: Integers, middle: Callable[..., Floats]) -> Floats:
    """Values (n, m) less the middle of their kind."""
    found = values.copy()
    for k in np.unique(kind):
        found[kind == k] -= middle(values[kind == k], axis=0)
    return found


def groups(lab: Floats, weight: Floats | None = None, least: int = 1) -> tuple[Floats, Integers]:
    """Paints (p, 3), the most used first, and which of them (n,) each dot has.

    Average linkage on CIEDE2000 differences (Sharma, Wu & Dalal 2005).

    Parameters
    ----------
    lab : ndarray (n, 3)
    weight : ndarray (n,), optional
        How well each colour is seen: paints are told by the better half.
    least : int
        Fewer dots of one colour are odd ones of the nearest paint.
    """
    if len(lab) < 2:
        return lab.copy(), np.zeros(len(lab), np.int64)
    well = np.ones(len(lab), bool) if weight is None else weight >= np.median(weight)
    middles = _clusters(lab[well])
    # Small dots mix with what lies about them and are nobody's paint, unless enough of them are unlike all others.
    far = ciede2000(lab[:, None], middles[None]).min(1) > ANOTHER_PAINT
    middles = np.concatenate([middles, _clusters(lab[far])])
    count = np.bincount(ciede2000(lab[:, None], middles[None]).argmin(1), minlength=len(middles))
    middles = middles[count >= min(least, int(count.max()))]
    paint = ciede2000(lab[:, None], middles[None]).argmin(1)
    count = np.bincount(paint, minlength=len(middles))
    used = np.argsort(-count, kind="stable")[: int((count > 0).sum())]
    rank = np.full(len(middles), -1, np.int64)
    rank[used] = np.arange(len(used))
    return middles[used], rank[paint]


def _clusters(lab: Floats) -> Floats:
    """Median colours (p, 3) of groups of like colours."""
    if len(lab) < 2:
        return lab
    some = lab[np.unique(np.linspace(0, len(lab) - 1, COMPARED).round().astype(int))]
    apart = ciede2000(some[:, None], some[None])
    cluster = average_linkage(apart, ONE_PAINT)
    return np.array([np.median(some[cluster == c], axis=0) for c in np.unique(cluster)])


def as_rgb(lab: Floats) -> str:
    """A CIELAB colour as "#rrggbb"."""
    code = cv2.cvtColor(np.asarray(lab, np.float32).reshape(1, 1, 3), cv2.COLOR_Lab2RGB)[0, 0]
    return "#" + "".join(f"{round(255 * float(np.clip(v, 0, 1))):02x}" for v in code)
