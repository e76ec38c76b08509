"""Straight lines that may carry a side of the panel: segments of several pictures of the photo, joined."""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median
from aligncheck.panel.small import Channels, SmallView, channels_of

Floats = NDArray[np.float64]

#: Segments closer than this in place and direction are pieces of one line: what a straight side scatters in the view.
SAME_PX = 3.0
SAME_RAD = 0.05

#: Scales of the view at which segments are looked for, in grey and in colour: an edge is then a pixel wide, and there
#: are far fewer pixels to ask. Lines come out as exact as from twice as many pixels, and as often.
GREY_SCALE, COLOUR_SCALE = 0.4, 1 / 3
#: How many lines each picture of the photo may give (grey, evened contrast, and each colour difference).
GREY_LINES, EVENED_LINES, COLOUR_LINES = 26, 22, 10

#: Contrast is evened over so many pixels: a sixteenth of the view.
AROUND_PX = 25

#: So many times as many of the longest segments start a line; the weightiest lines are kept.
SEEDS_PER_LINE = 2
#: Shorter segments (view pixels) say too little, and more of them than this per seed are not looked at.
SHORTEST_PX, PER_SEED = 8, 14


@dataclass(frozen=True)
class Lines:
    """Straight lines n . (p - centre) = rho in pixels of the small view.

    Attributes
    ----------
    normal : ndarray (k, 2), unit vectors
    rho : ndarray (k,)
    weight : ndarray (k,), drawn length times capped contrast
    """

    normal: Floats
    rho: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.rho)

    def joined(self, others: "Lines") -> "Lines":
        """These and `others`."""
        return Lines(
            np.concatenate([self.normal, others.normal]),
            np.concatenate([self.rho, others.rho]),
            np.concatenate([self.weight, others.weight]),
        )

    def taken(self, index: NDArray[np.intp]) -> "Lines":
        """The lines at `index`."""
        return Lines(self.normal[index], self.rho[index], self.weight[index])


def line_pool(view: SmallView) -> Lines:
    """Return 40 to 70 lines of the view: grey, contrast evened, and both colour differences."""
    noise = view.noise
    grey = np.ascontiguousarray(_at(view, GREY_SCALE)[..., 0])
    colour = _at(view, COLOUR_SCALE)
    pool = _lines_of(_codes(grey), GREY_SCALE, GREY_LINES, view)
    pool = pool.joined(_lines_of(_evened(grey, float(noise[0])), GREY_SCALE, EVENED_LINES, view))
    for channel in (1, 2):
        picture = _amplified(np.ascontiguousarray(colour[..., channel]), float(noise[channel]))
        pool = pool.joined(_lines_of(picture, COLOUR_SCALE, COLOUR_LINES, view))
    return without_twins(pool)


def without_twins(lines: Lines, limit: int = 70) -> Lines:
    """Drop of two nearly equal lines the later one; at most `limit` stay."""
    kept: list[int] = []
    for k in range(len(lines)):
        if kept:
            cosine = lines.normal[kept] @ lines.normal[k]
            apart = np.abs(lines.rho[kept] * np.sign(cosine) - lines.rho[k])
            if np.any((np.abs(cosine) > np.cos(0.012)) & (apart < 1.5)):
                continue
        kept.append(k)
        if len(kept) == limit:
            break
    return lines.taken(np.array(kept, np.intp))


def _at(view: SmallView, scale: float) -> Channels:
    """Channels of the view brought to `scale`."""
    size = (round(view.width * scale), round(view.height * scale))
    return channels_of(np.asarray(cv2.resize(view.means, size, interpolation=cv2.INTER_AREA), np.float32))


def _codes(channel: Channels) -> NDArray[np.uint8]:
    return np.clip(channel, 0, 255).astype(np.uint8)


def _evened(luminance: Channels, noise: float) -> NDArray[np.uint8]:
    """Luminance less its surroundings over their contrast: a faint side beside a bright lamp shows as well."""
    around = (AROUND_PX, AROUND_PX)
    mean = cv2.blur(luminance, around)
    sd = np.sqrt(np.maximum(cv2.blur(luminance * luminance, around) - mean * mean, 0))
    return np.asarray(np.clip(128 + 42 * (luminance - mean) / (sd + 2 * noise), 0, 255), np.uint8)


def _amplified(channel: Channels, noise: float) -> NDArray[np.uint8]:
    return np.asarray(np.clip(128 + (channel - median(channel[::2])) * min(2.0 / noise, 6.0), 0, 255), np.uint8)


def _lines_of(picture: NDArray[np.uint8], scale: float, count: int, view: SmallView) -> Lines:
    """The `count` weightiest lines of one picture, which is the view at `scale`."""
    # OpenCV's stub does not say that it is None where there is nothing.
    found: Any = cv2.createLineSegmentDetector(cv2.LSD_REFINE_NONE).detect(picture)[0]
    if found is None:
        return Lines(np.zeros((0, 2)), np.zeros(0), np.zeros(0))
    ends = (found.reshape(-1, 2, 2).astype(float) + 0.5) / scale - 0.5
    lines, middle = _join(ends - np.array(view.centre_px), SEEDS_PER_LINE * count)
    weight = lines.weight * _contrast(picture, scale, lines, middle + view.centre_px)
    order = np.argsort(-weight)[:count]
    return Lines(lines.normal[order], lines.rho[order], weight[order])


def _join(ends: Floats, seeds: int) -> tuple[Lines, Floats]:
    """Join collinear segments (n, 2, 2) greedily, longest first: lines weighted by covered length, and middles."""
    along = ends[:, 1] - ends[:, 0]
    length = np.hypot(*along.T)
    order = np.argsort(-length)
    order = order[length[order] > SHORTEST_PX][: PER_SEED * seeds]
    ends, along, length = ends[order], along[order], length[order]
    direction = along / length[:, None]
    middle, moments = ends.mean(1), _Moments.of(ends, length)
    # Both ends' distance from a line, and the direction's in pixels: one product of three rows with normal and rho.
    one, scale = np.ones((len(ends), 1)), SAME_PX / SAME_RAD
    rows = [np.hstack([ends[:, 0], -one]), np.hstack([ends[:, 1], -one]), np.hstack([scale * direction, 0 * one])]
    tests = np.concatenate(rows)

    def near(normal: Floats, rho: float) -> NDArray[np.bool_]:
        """Which segments lie on a line, both ends and their direction."""
        off = np.abs(tests @ (normal[0], normal[1], rho))
        return np.asarray(off.reshape(3, -1).max(0) < SAME_PX, bool)

    free = np.ones(len(ends), bool)
    normals, rhos, lengths, middles = [], [], [], []
    for _ in range(seeds):
        if not free.any():
            break
        seed = int(np.argmax(free))  # sorted by length
        across = np.array([-direction[seed, 1], direction[seed, 0]])
        member = free & near(across, float(middle[seed] @ across))
        normal, rho, _ = moments.line(member)
        # A second look with the fitted line catches the pieces that the seed's own short length misjudged.
        member |= free & near(normal, rho)
        normal, rho, centre = moments.line(member)
        free &= ~member
        normals.append(normal)
        rhos.append(rho)
        lengths.append(float(length[member].sum()))
        middles.append(centre)
    if not rhos:
        return Lines(np.zeros((0, 2)), np.zeros(0), np.zeros(0)), np.zeros((0, 2))
    return Lines(np.array(normals), np.array(rhos), np.array(lengths)), np.array(middles)


class _Moments(NamedTuple):
    """Length, first and second moments (n, 1 + 2 + 3) of segments: a sum of rows fits a line through several."""

    rows: Floats

    @classmethod
    def of(cls, ends: Floats, length: Floats) -> "_Moments":
        """From segments (n, 2, 2), weighted by their length."""
        a, b = ends[:, 0], ends[:, 1]
        # Integral of x x' along a segment from a to b: (aa' + bb' + (a+b)(a+b)') / 6.
        parts = np.stack([a, b, a + b])
        second = [(parts[..., i] * parts[..., j]).sum(0) / 6 for i, j in ((0, 0), (1, 1), (0, 1))]
        return cls(length[:, None] * np.column_stack([np.ones(len(length)), ends.mean(1), *second]))

    def line(self, member: NDArray[np.bool_]) -> tuple[Floats, float, Floats]:
        """Least-squares line (normal, rho, middle) through the segments `member` (n,)."""
        total, x, y, xx, yy, xy = (member.astype(float) @ self.rows).tolist()
        x, y = x / total, y / total
        angle = 0.5 * math.atan2(2 * (xy / total - x * y), (xx - yy) / total - x * x + y * y)
        nx, ny = -math.sin(angle), math.cos(angle)
        return np.array([nx, ny]), nx * x + ny * y, np.array([x, y])


def _contrast(picture: NDArray[np.uint8], scale: float, lines: Lines, middle: Floats) -> Floats:
    """Mean step across each line at 24 places about its middle, capped: beyond 40 codes more is not better."""
    tangent = np.stack([-lines.normal[:, 1], lines.normal[:, 0]], -1)
    reach = np.linspace(-0.4, 0.4, 24)[None, :, None] * lines.weight[:, None, None]
    places = middle[:, None] + reach * tangent[:, None]
    sides = []
    for side in (2.0, -2.0):
        p = ((places + side / scale * lines.normal[:, None] + 0.5) * scale - 0.5).astype(np.float32)
        sides.append(cv2.remap(picture, p[..., 0], p[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    step = np.abs(sides[0].astype(float) - sides[1]).mean(1)
    return np.asarray(0.25 + np.minimum(step, 40) / 40, float)
