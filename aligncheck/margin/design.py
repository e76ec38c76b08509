"""Which pixels belong to the design: unlike the panel, and with their like in the other segments.

A design round a centre repeats in its segments; dust, strays, ticks, smudges and shadows do not, and construction lines
along the diagonals repeat at four places only. So a pixel counts if at about half of the other segments' places
something lies near its own place turned there, and so does what hangs together with it over a short way: the spoke that
is longer than its like, the odd dot. Specks must have specks for their like, more than dust would have by chance.
"""

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtrik

from aligncheck.margin.view import MarginView
from aligncheck.marks import Line

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Bytes = NDArray[np.uint8]

#: A pixel is ink if so many times more unlike than the panel's own spread: one false in many millions if Gaussian,
#: which leaves room for weave and compression.
UNLIKE = 6.0
#: Ink smaller than this is dust, mm^2; the least dots have 1.
LEAST_MM2 = 0.4
#: Resolution at which the segments are compared, and how far from its turned place the like may lie, mm: hands differ.
COMPARE_PX_PER_MM, NEAR_MM = 2.0, 2.0
#: Share of the other segments that must show the like: under a half, so that a segment count twice too large still
#: passes; over 3 of 7, what a border or the diagonals have on a panel of eight segments.
SHARE = 0.45
#: Ink of less than this, mm^2, with none nearer to it than that, mm, is a speck; the share of places where so many
#: specks of dust may lie near by chance: there may be hundreds.
SPECK_MM2, APART_MM, CHANCE = 3.0, 1.0, 1e-4
#: So far along connected ink what has no like of its own still belongs to what has, mm.
HANGS_MM = 6.0
#: Beside the sides: rounding, glare on the edge, and the background where the map is a little off, mm.
SIDE_MM = 2.0
#: The panel's own pattern (grain, weave) may not count as ink: the strip along the sides, so wide, may be ink, or near
#: some, in this share; else the threshold rises by this factor.
STRIP_MM, STRIP_SHARE, RAISE = 12.0, 0.15, 1.4
#: A border runs along a side for this share of it, within this share of the panel from it, and strays sideways by so
#: much, mm.
BORDER_LONG, BORDER_DEEP, BORDER_OFF_MM = 0.6, 0.2, 1.5
#: Without a repeat to go by: ink of this area, and not a mere line, mm^2.
ALONE_MM2 = 3.0
#: Half-width of the strip along a construction line that is left out, beyond its own, mm.
BESIDE_MM = 0.6


def design_mask(view: MarginView, centre_mm: Floats, segments: int, diagonals: tuple[Line, ...] = ()) -> Bools:
    """The design's pixels (h, w) of the view.

    Parameters
    ----------
    view : MarginView
    centre_mm : ndarray (2,)
        The point that the design turns about.
    segments : int
        How many times it repeats; under 3 the design is taken for one that does not.
    diagonals : tuple of Line
        Construction lines to leave out.
    """
    ink = _ink(view)
    for line in diagonals:
        ends = np.round(view.to_view([line.inner_mm, line.outer_mm])).astype(int).tolist()
        wide = (line.width_mm + 2 * BESIDE_MM) * view.px_per_mm
        cv2.line(ink, ends[0], ends[1], 0, max(1, round(wide)))
    number, found, sizes, _ = cv2.connectedComponentsWithStats(ink, connectivity=8)
    labels, stats = np.asarray(found, np.int32), np.asarray(sizes, np.int32)
    large = stats[:, cv2.CC_STAT_AREA] >= LEAST_MM2 * view.px_per_mm**2
    large[0] = False
    kept = large[labels]
    if segments < 3:
        return _without_repeat(stats, view.px_per_mm)[labels] & kept
    specks = _specks(kept, view.px_per_mm)
    borne_out = kept & ~specks & _repeats(kept, view, centre_mm, segments)
    if specks.any():
        # Dust lies near something in many segments: a speck is a dot only where specks lie in more than chance has it.
        borne_out |= specks & _repeats(specks, view, centre_mm, segments, CHANCE)
    return _hanging(borne_out, labels, number, kept, view.px_per_mm)


def _ink(view: MarginView) -> Bytes:
    """What is unlike the panel, without borders, at a threshold that the panel's own pattern stays below."""
    side, strip = round(SIDE_MM * view.px_per_mm), round(STRIP_MM * view.px_per_mm)
    near = np.ones((2 * round(NEAR_MM * view.px_per_mm) + 1,) * 2, np.uint8)
    outer = np.ones(view.unlike.shape, bool)
    outer[strip:-strip, strip:-strip] = False
    threshold = UNLIKE
    for _ in range(8):
        ink = (view.unlike > threshold).astype(np.uint8)
        ink[:side] = ink[-side:] = 0
        ink[:, :side] = ink[:, -side:] = 0
        for turns in range(4):
            _wipe_border(np.rot90(ink, turns), view.px_per_mm)
        if cv2.dilate(ink, near)[outer].mean() < STRIP_SHARE:
            break
        threshold *= RAISE
    return ink


def _wipe_border(ink: Bytes, px_per_mm: float) -> None:
    """Take a line off that runs along the top of `ink`, which is changed."""
    off = round(BORDER_OFF_MM * px_per_mm)
    band = np.ascontiguousarray(ink[: round(BORDER_DEEP * len(ink))])
    thick = cv2.dilate(band, np.ones((2 * off + 1, 1), np.uint8))
    for row in np.flatnonzero(thick.mean(axis=1) > BORDER_LONG):
        ink[max(0, row - off) : row + off + 1] = 0


def _specks(kept: Bools, px_per_mm: float) -> Bools:
    """Small ink (h, w) with nothing about it: dust, or the smallest dots."""
    apart = 2 * round(APART_MM * px_per_mm / 2) + 1
    joined = cv2.dilate(kept.astype(np.uint8), np.ones((apart, apart), np.uint8))
    number, labels = cv2.connectedComponents(joined, connectivity=8)
    area = np.bincount(np.asarray(labels)[kept], minlength=number)
    return np.asarray(kept & (area < SPECK_MM2 * px_per_mm**2)[labels], bool)


def _repeats(kept: Bools, view: MarginView, centre_mm: Floats, segments: int, chance: float | None = None) -> Bools:
    """Where (h, w) enough of the other segments show ink near the turned place.

    With a `chance`: more than ink strewn as densely about the same circle would show in all but this share of places.
    """
    scale = COMPARE_PX_PER_MM / view.px_per_mm
    height, width = kept.shape
    size = round(width * scale), round(height * scale)
    small = cv2.resize(kept.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    reach = round(NEAR_MM * COMPARE_PX_PER_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    near = np.asarray(cv2.dilate((small > 0.1).astype(np.float32), disc), np.float32)
    middle = (view.to_view(centre_mm) + 0.5) * scale - 0.5
    count = np.zeros(near.shape, np.float32)
    for k in range(1, segments):
        turn = cv2.getRotationMatrix2D((float(middle[0]), float(middle[1])), 360.0 * k / segments, 1.0)
        count += cv2.warpAffine(near, turn, size, flags=cv2.INTER_NEAREST)
    spare = count - SHARE * (segments - 1)
    if chance is not None:
        spare = np.minimum(spare, count + 0.5 - _by_chance(near, middle, segments - 1, chance))
    enough = cv2.resize(spare.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(enough > 0, bool)


def _by_chance(near: NDArray[np.float32], middle: Floats, others: int, chance: float) -> Floats:
    """In how many (h, w) of the other segments ink lies near, beyond chance, if it is strewn about the same circle.

    Dots in a close row lie near everywhere: none of them may be missing.
    """
    y, x = np.indices(near.shape)
    radius = np.hypot(x - middle[0], y - middle[1]).astype(int)
    share = np.bincount(radius.ravel(), near.ravel()) / np.maximum(np.bincount(radius.ravel()), 1)
    most = np.ceil(bdtrik(1 - chance, others, np.clip(share, 1e-9, 1 - 1e-9)))
    return np.asarray(np.minimum(most + 1, others)[radius], float)


def _hanging(borne_out: Bools, labels: NDArray[np.int32], number: int, kept: Bools, px_per_mm: float) -> Bools:
    """The pixels that are borne out, and those of the same piece of ink within a short way of them.

    What runs on to the panel's side is a tick that helps to lay the layout out, or lies over the side.
    """
    touched = np.zeros(number, bool)
    touched[np.unique(labels[borne_out])] = True
    if not borne_out.any():
        return borne_out
    away = cv2.distanceTransform((~borne_out).astype(np.uint8), cv2.DIST_L2, 3)
    hangs = kept & touched[labels] & (away <= HANGS_MM * px_per_mm) & ~borne_out
    parts = np.asarray(cv2.connectedComponents(hangs.astype(np.uint8), connectivity=8)[1], np.int32)
    first = round(SIDE_MM * px_per_mm)
    at_sides = np.concatenate([parts[first], parts[-first - 1], parts[:, first], parts[:, -first - 1]])
    return np.asarray(borne_out | (hangs & ~np.isin(parts, at_sides)), bool)


def _without_repeat(stats: NDArray[np.int32], px_per_mm: float) -> Bools:
    """Which pieces (n,) count where nothing repeats: large ones that fill more than a line's share of their box."""
    wide, high, area = (stats[:, k].astype(float) for k in (cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT, cv2.CC_STAT_AREA))
    slim = area < 1.5 * px_per_mm * np.hypot(wide, high)
    return np.asarray((area >= ALONE_MM2 * px_per_mm**2) & (~slim | (np.minimum(wide, high) > 20 * px_per_mm)), bool)
