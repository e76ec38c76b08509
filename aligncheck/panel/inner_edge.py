"""Sides that were found at the foot of their side face, while the face ends further in, at a fainter step.

Seen from nearly straight above a side, a deep panel shows some millimetres of its side face. Face and side face of one
dark paint differ little in light, and both much from a bright table, so that the foot takes the place of the panel's
edge. As a ratio, though, the fainter step is clear: a side face gets half as much light as the face, or its own colour.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, medians
from aligncheck.geometry.srgb import LUMINANCE
from aligncheck.lens import Lens
from aligncheck.panel.colour_channels import DARK
from aligncheck.panel.edges import PIECES, Edges, locate_edges, read_edge_strip
from aligncheck.panel.step_fit import STEP_PX
from aligncheck.panel.strips import Singles, read_strip, side_between

Floats = NDArray[np.float64]

#: A side misplaced by a millimetre or two turns the panel by two degrees: by so much the slant of a side may be wrong,
#: and for every millimetre that the side itself lies at the wrong place by so much more.
SLACK, SLACK_PER_MM = 0.035, 0.02
#: Thickness of panels where it is not told, mm.
DEPTHS_MM = (2.0, 45.0)
#: Widths looked at (units of a pixel): narrower bands are fitted with the edge itself. And the widest, mm: the outline
#: of what shows more of its side face than this is no rectangle's.
NARROWEST, WIDEST, WIDEST_MM = 4, 200, 16.0
#: The edge's own blur reaches so far in, and each level is a mean over so much (units).
BLURRED, LEVEL = 3, 6
#: Log light by which the band differs from the face, and the share of the pieces in which it does so one way: paint,
#: weave and sheen change by less from one millimetre to the next, and not all along a side.
UNLIKE, ONE_WAY = 0.2, 0.9
#: What sharpening and glare leave beside an edge shows at hidden sides, too: a band must differ by so many times that.
OVER_HALO = 3.0
#: The band's end next to the outer edge is as unlike the face as its start, or the ground came back behind a line; and
#: the face beside it is as it is further in, or the step is a line's outer flank.
LASTS = 0.6
#: Turns of the inner edge against the outer one, px at the ends.
TURNS: Floats = np.arange(-3, 4, dtype=float)
#: How far from where the ratio shows it the step is looked for (units).
SEARCH = 2.5


class Inner(NamedTuple):
    """An inner edge of one side: how far (px) inside the side at its first and its second corner."""

    first_px: float
    second_px: float
    contrast: float

    @property
    def width_px(self) -> float:
        """How far inside at the middle."""
        return (self.first_px + self.second_px) / 2


def _log_strip(rgb: NDArray[np.uint8], first: Floats, second: Floats, lens: Lens, unit: float, widest: int) -> Singles:
    """Log luminance (PIECES, widest + 2 LEVEL + BLURRED) inside a side, from the side inwards, a unit apart."""
    offsets = -np.arange(widest + 2 * LEVEL + BLURRED, dtype=float) * unit
    few = 3
    shares = 0.03 + 0.94 * (np.arange(PIECES * few) + 0.5) / (PIECES * few)
    light = read_strip(rgb, side_between(first, second, lens, shares), offsets)
    luminance = np.nan_to_num(light).reshape(PIECES, few, len(offsets), 3).mean(1) @ LUMINANCE
    return np.asarray(np.log(luminance + DARK), np.float32)


def _contrasts(strip: Singles, turn: float) -> tuple[Singles, Singles, Singles]:
    """Log light (PIECES, depths) over the face's beside a step at each depth: of the band next to the step, of its
    outer end, and of the face itself further in."""
    depth = _depths(strip)
    shift = np.rint(turn * ((np.arange(PIECES) + 0.5) / PIECES - 0.5) * 2).astype(int)[:, None]
    sums = np.zeros((PIECES, strip.shape[1] + 1), np.float32)
    np.cumsum(strip, axis=1, out=sums[:, 1:])
    rows = np.arange(PIECES)[:, None]

    def mean(low: NDArray[np.int_], high: NDArray[np.int_]) -> Singles:
        low, high = np.clip(low, 0, strip.shape[1] - 1), np.clip(high, 1, strip.shape[1])
        high = np.maximum(high, low + 1)
        return np.asarray((sums[rows, high] - sums[rows, low]) / (high - low), np.float32)

    at = depth + shift
    face = mean(at + 2, at + 2 + LEVEL)
    beside = mean(np.maximum(at - 1 - LEVEL, BLURRED), at - 1)
    last = mean(np.full_like(at, BLURRED), np.full_like(at, BLURRED + 1))
    further = mean(at + 2 + LEVEL, at + 2 + 2 * LEVEL)
    return beside - face, last - face, further - face


def _depths(strip: Singles) -> NDArray[np.int_]:
    """How far inside the side a step is looked for, units."""
    return np.arange(NARROWEST, strip.shape[1] - 2 * LEVEL - BLURRED)


def _inner_edge(strip: Singles, halo: float, unit: float) -> Inner | None:
    """The clearest step inside a side beyond which all is unlike the face up to the side; None where there is none."""
    best: Inner | None = None
    for turn in TURNS:
        beside, last, further = _contrasts(strip, turn)
        middle = medians(beside, 0)
        k = int(np.abs(middle).argmax())
        step = float(middle[k])
        one_way = float((np.sign(beside[:, k]) == np.sign(step)).mean())
        if abs(step) < max(UNLIKE, OVER_HALO * halo) or one_way < ONE_WAY:
            continue
        if median(last[:, k]) / step < LASTS or abs(median(further[:, k])) > (1 - LASTS) * abs(step):
            continue
        if best is None or abs(step) > abs(best.contrast):
            depth = float(_depths(strip)[k])
            best = Inner((depth - turn) * unit, (depth + turn) * unit, step)
    return best


def inner_edges(
    rgb: NDArray[np.uint8],
    corners_px: Floats,
    lens: Lens,
    slants: Floats,
    px_per_mm: Floats,
    depth_mm: float | None,
    unit: float,
    blurs: list[float],
) -> list[Edges | None]:
    """The inner edges of the sides (top, right, bottom, left) between corners (4, 2) that may show their side face.

    `slants` (4,) as :class:`Rounding` has them, `px_per_mm` (4,) across the sides.
    """
    ends = [(corners_px[i], corners_px[(i + 1) % 4]) for i in range(4)]
    depth = DEPTHS_MM[1] if depth_mm is None else depth_mm
    # What lies w inside a side that is so much misplaced shows w of its face: w < (slant + slack of w) x depth.
    free = 1 - SLACK_PER_MM * depth
    open_mm = (slants + SLACK) * depth / free if free > 0 else np.where(slants + SLACK > 0, WIDEST_MM, 0.0)
    widest = np.minimum(open_mm, WIDEST_MM) * px_per_mm
    may_show = widest > NARROWEST * unit
    if not may_show.any():
        return [None] * 4
    # A step just beyond must be seen for what it is; of hidden sides only what the edge leaves beside it is wanted.
    far = np.where(may_show, np.clip(np.ceil(widest / unit) + LEVEL, NARROWEST, WIDEST), NARROWEST + 2).astype(int)
    strips = [_log_strip(rgb, *pair, lens, unit, int(units)) for pair, units in zip(ends, far, strict=True)]
    hidden = [_halo(strip) for strip, slant in zip(strips, slants, strict=True) if slant < -SLACK]
    halo = median(hidden) if hidden else 0.0
    found: list[Edges | None] = []
    for i, strip in enumerate(strips):
        inner = _inner_edge(strip, halo, unit) if may_show[i] else None
        seen = inner is not None and inner.width_px < widest[i]
        found.append(_edges_at(rgb, ends[i], lens, inner, unit, blurs[i]) if inner and seen else None)
    return found


def _halo(strip: Singles) -> float:
    """What light and file leave just inside an edge, as log light against the face."""
    return float(np.abs(medians(_contrasts(strip, 0.0)[0], 0)[:2]).max())


def _edges_at(
    rgb: NDArray[np.uint8], ends: tuple[Floats, Floats], lens: Lens, inner: Inner, unit: float, blur_px: float
) -> Edges:
    """The places of the inner edge, read about a line through its ends; what lies beyond the band is left out."""
    across = side_between(*ends, lens, np.array([0.0, 1.0])).outward
    moved = ends[0] - inner.first_px * across[0], ends[1] - inner.second_px * across[1]
    side, light = read_edge_strip(rgb, *moved, lens, unit)
    # Half a pixel a sample: here the outer edge and its blur begin.
    until = light.shape[1] // 2 + int((inner.width_px / unit - BLURRED) / STEP_PX)
    if until < light.shape[1]:
        light[:, until:] = light[:, until - 1 : until]
    return locate_edges(side, light, SEARCH * unit, unit, None, blur_px)
