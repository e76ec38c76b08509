"""What dots lie on besides the bare panel: painted circles, fields of several colours, a shadow's sharp edge.

A ground is even, wider than any dot, and goes on around what lies on it. What lies on it hides part of it; there the
ground is carried on evenly from all sides, so that no edge of it remains under a dot.
"""

from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.cells import SMALLEST_MM2, alike, large_together, like_cells
from aligncheck.geometry.channels import lengths, summed
from aligncheck.geometry.small import median

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Labels = NDArray[np.int32]
Mask = NDArray[np.bool_]

#: Grounds are looked for in a picture of so many pixels per mm at most, softened by so many of them: weave and grain
#: are then small beside edges.
PX_PER_MM, SOFT_PX = 3.3, 1.0
#: So many rows of it are compared at a time: a whole picture's differences are large.
ROWS = 32
#: Even is where colour changes from pixel to pixel by less than this many times the usual.
EVEN = 4.0
#: Wider than any dot: an even zone of 1.5 times the area of the largest, which is 15 mm wide.
LEAST_MM2 = 1.5 * np.pi * 7.5**2
#: Chalk and dots cut a ground into zones: such a one is part of a ground of its colour from this size on, unless it is
#: as round as a dot of that colour would be. A disc fills this much of the box about it, with its highlight or without,
#: and is no longer than wide but for blur and a slanting view.
PART_MM2, FILLS, LONGER = LEAST_MM2 / 12, (0.55, 0.88), 1.35
#: A zone this many times its noise away from the bare panel is another ground; what is this near to one is part of it.
ANOTHER, SAME = 6.0, 4.0
#: From here on a photo's white is clipped.
WHITE = 0.97
#: A ground's own colour at a place is its mean over so many mm: less than light changes over.
MEAN_MM = 3.0
#: So many pixels to both sides of a border blur mixes both grounds.
BORDER_PX = 3
#: Below this size nothing is halved any more when hidden places are filled in.
SMALLEST_PX = 4


def other_grounds(unlike: Singles, bright: Singles, px_per_mm: float) -> Singles | None:
    """How unlike the bare panel (h, w, 3) the ground is everywhere; None where all of it is bare.

    Parameters
    ----------
    unlike : ndarray (h, w, 3)
        Difference from the bare panel, in units of its noise.
    bright : ndarray (h, w)
        How light each place is, 0 to 1: what is all white is glare, and hides what lies there.
    """
    factor = max(1.0, px_per_mm / PX_PER_MM)
    scale = px_per_mm / factor
    size = max(1, round(unlike.shape[1] / factor)), max(1, round(unlike.shape[0] / factor))
    small = np.asarray(cv2.resize(unlike, size, interpolation=cv2.INTER_AREA), np.float32)
    soft = np.asarray(cv2.GaussianBlur(small, (0, 0), SOFT_PX), np.float32)
    light = np.asarray(cv2.resize(bright, size, interpolation=cv2.INTER_AREA), np.float32)
    label, stats = _zones(_even(soft) & (light < WHITE), 4)
    area = stats[:, cv2.CC_STAT_AREA] / scale**2
    # The first is what is not even.
    area[0] = 0.0
    colour = _usual(soft, label, stats, area >= SMALLEST_MM2)
    unlike_bare = np.linalg.norm(colour, axis=1) > ANOTHER
    painted = unlike_bare & (area >= LEAST_MM2)
    cell = like_cells(small, soft, label, stats, unlike_bare & ~painted, scale)
    some = np.flatnonzero(cell)
    painted[some] = large_together(colour[some], area[some], SAME, LEAST_MM2)
    if not painted.any():
        return None
    part = np.flatnonzero((((area >= PART_MM2) & ~_round(stats)) | cell) & unlike_bare & ~painted)
    painted[part] = np.linalg.norm(colour[part][:, None] - colour[painted], axis=-1).min(1) < SAME
    bare = _no_discs(lengths(small) < SAME)
    paints = np.zeros(len(stats), np.int32)
    paints[painted] = 1 + alike(colour[painted], SAME)
    # The bare panel is the first of the sides that a border may have.
    which, means = paints[label], [np.zeros_like(soft)]
    for k in range(1, int(paints.max()) + 1):
        means.append(_mean_of(soft, which == k, MEAN_MM * scale))
        which[_joined((lengths(small - means[k]) < SAME) & ~bare, which == k) & (which == 0)] = k
    return _everywhere(unlike, means, which, bare & (which == 0))


def _everywhere(unlike: Singles, means: list[Singles], which: Labels, bare: Mask) -> Singles:
    """The ground (h, w, 3): of each paint its mean where the coarser `which` shows it, 0 where it is `bare`, between
    them even.
    """
    known = (which > 0) | bare
    shown = np.zeros_like(means[0])
    for k in range(1, len(means)):
        shown[which == k] = means[k][which == k]
    ground = _filled(shown, known.astype(np.float32))
    ground[known] = shown[known]
    size = unlike.shape[1::-1]
    full = np.asarray(cv2.resize(ground, size, interpolation=cv2.INTER_LINEAR), np.float32)
    # Along a border blur mixes both grounds: what is such a mixture is ground and nothing on it.
    near = np.ones((2 * BORDER_PX + 1,) * 2, np.uint8)
    zones = bare, *(which == k for k in range(1, len(means)))
    sides = [np.asarray(cv2.dilate(zone.astype(np.uint8), near), np.uint8) for zone in zones]
    for one, other in combinations(range(len(means)), 2):
        mixed = cv2.resize(sides[one] & sides[other], size, interpolation=cv2.INTER_NEAREST) > 0
        if not mixed.any():
            continue
        at = tuple(i * n // m for i, n, m in zip(np.nonzero(mixed), which.shape, mixed.shape, strict=True))
        first, way = means[one][at], means[other][at] - means[one][at]
        share = summed((unlike[mixed] - first) * way) / np.maximum(summed(way * way), np.float32(1e-6))
        full[mixed] = first + np.clip(share, 0, 1)[:, None] * way
    return full


def _even(soft: Singles) -> Mask:
    """Where (h, w) the picture hardly changes, nor beside it."""
    wide = cv2.copyMakeBorder(soft, 1, 1, 1, 1, cv2.BORDER_REPLICATE)
    change = np.empty(soft.shape[:2], np.float32)
    for k in range(0, len(soft), ROWS):
        part = wide[k : k + ROWS + 2]
        across, down = part[1:-1, 2:] - part[1:-1, :-2], part[2:, 1:-1] - part[:-2, 1:-1]
        np.add(lengths(across), lengths(down), out=change[k : k + ROWS])
    usual = max(median(change[::3, ::3].ravel()), 1e-6)
    return np.asarray(cv2.dilate(change, np.ones((3, 3), np.uint8)) < EVEN * usual, bool)


def _zones(where: Mask, neighbours: int) -> tuple[Labels, Labels]:
    """The number of the part that hangs together about each place (h, w), and OpenCV's statistics of each part."""
    _, label, stats, _ = cv2.connectedComponentsWithStats(where.astype(np.uint8), connectivity=neighbours)
    return np.asarray(label, np.int32), np.asarray(stats, np.int32)


def _usual(picture: Singles, label: Labels, stats: Labels, which: Mask) -> Floats:
    """The middle colours (zones, 3) of some zones, NaN of all others."""
    found = np.full((len(stats), 3), np.nan)
    for k in np.flatnonzero(which):
        x, y, w, h = (int(v) for v in stats[k, :4])
        colours = picture[y : y + h, x : x + w][label[y : y + h, x : x + w] == k]
        found[k] = np.median(colours[:: max(1, len(colours) // 5000)], axis=0)
    return found


def _round(stats: Labels) -> Mask:
    """Which zones are as round as a dot."""
    wide, high, area = (stats[:, k].astype(float) for k in (cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT, cv2.CC_STAT_AREA))
    fills = area / np.maximum(wide * high, 1)
    return np.asarray(
        (fills > FILLS[0]) & (fills < FILLS[1]) & (np.maximum(wide, high) < LONGER * np.minimum(wide, high)), bool
    )


def _no_discs(bare: Mask) -> Mask:
    """What looks bare but for round places: those are dots in the panel's own colour on another ground."""
    label, stats = _zones(bare, 8)
    # Of a few pixels any shape is round.
    held = ~(_round(stats) & (stats[:, cv2.CC_STAT_AREA] > 9)) | (stats[:, cv2.CC_STAT_AREA] > bare.size / 20)
    held[0] = False
    return np.asarray(held[label], bool)


def _mean_of(soft: Singles, zone: Mask, sd: float) -> Singles:
    """The mean of the zone's colours about each place, carried on to where none is near."""
    weight = zone.astype(np.float32)
    height, width = zone.shape
    # A blur is a coarser picture, from the scale on at which a pixel is as wide.
    steps = max(0, round(np.log2(max(sd, 1.0))))
    size = max(1, width >> steps), max(1, height >> steps)
    small = [cv2.resize(part, size, interpolation=cv2.INTER_AREA) for part in (soft * weight[..., None], weight)]
    coarse = _filled(np.asarray(small[0], np.float32), np.asarray(small[1], np.float32))
    return np.asarray(cv2.resize(coarse, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def _joined(same: Mask, zone: Mask) -> Mask:
    """Of places that are the `same` as a ground those that hang together with it."""
    _, label = cv2.connectedComponents((same | zone).astype(np.uint8), connectivity=8)
    held = np.zeros(int(label.max()) + 1, bool)
    held[label[zone]] = True
    held[0] = False
    return np.asarray(held[label], bool)


def _filled(weighted: Singles, weight: Singles) -> Singles:
    """A picture (h, w, 3) from what is known of it times its weight: coarser pictures fill what finer ones leave."""
    height, width = weight.shape
    if min(height, width) <= SMALLEST_PX:
        return np.asarray(weighted / np.maximum(weight, 1e-6)[..., None], np.float32)
    size = (width + 1) // 2, (height + 1) // 2
    some, share = (cv2.resize(part, size, interpolation=cv2.INTER_AREA) for part in (weighted, weight))
    # One of the four that are known tells the coarser one (pull and push, as in Gortler et al. 1996): else what lies
    # far off would weigh much wherever little is known.
    more = np.minimum(4.0, 1 / np.maximum(share, np.float32(1e-6)))
    coarse = _filled(np.asarray(some * more[..., None], np.float32), np.asarray(share * more, np.float32))
    behind = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(weighted + (1 - np.minimum(weight, 1))[..., None] * behind, np.float32)
