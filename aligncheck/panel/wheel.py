"""Where the drawing's centre lies in the photo and how its plane is tilted, without knowing any side of the panel.

Each drawn pixel votes along its own line: spokes meet at the centre. Then the plane is searched in which the pixels
run to and round that centre best: circles stay circles only in the right plane.
"""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import quantile
from aligncheck.panel.pattern import Complex, LinePixels, line_pixels
from aligncheck.panel.small import SmallView

Floats = NDArray[np.float64]

#: Share of the view's pixels that may be drawn lines, and how many of them are looked at.
LINE_SHARE, MOST_PIXELS, LEAST_PIXELS = 0.03, 6000, 300
#: A first look takes every fourth of them.
PART = 4
#: Votes reach from here to here along a pixel's line (view pixels): beyond the centre's own clutter, within a panel.
NEAREST_PX, FARTHEST_PX, VOTE_STEP_PX, CELL_PX = 24, 280, 4, 4
#: Centres tried of each polarity.
CENTRES = 4
#: The surest of them are settled finely.
SETTLED = 3
#: Tilts of the plane tried, and their azimuths.
TILTS_DEG = (0.0, 8.0, 16.0, 24.0, 32.0, 40.0)
AZIMUTHS = 12
#: The drawing's size: agreement over the pixels inside these shares of all.
SHARES = (0.35, 0.5, 0.65, 0.8, 1.0)


class Wheel(NamedTuple):
    """The drawing: `centre` (view pixels), unit `normal` (3,) of its plane towards the camera, agreement of its
    pixels, `sure` = agreement x sqrt(their share), and `radius`, its outer end in units of the centre's distance."""

    centre: complex
    normal: Floats
    pattern: float
    sure: float
    radius: float

    def to_plane(self, points: Complex, view: SmallView) -> Complex:
        """View pixels (n,) to the plane, in units of the centre's distance from the camera, about the centre."""
        first, second = self.axes
        origin = ray_of(np.array([self.centre]), view)[0]
        rays = ray_of(points, view)
        spot = rays * ((origin @ self.normal) / (rays @ self.normal))[:, None] - origin
        return np.asarray(((spot @ first) + 1j * (spot @ second)) / np.linalg.norm(origin))

    def to_view(self, places: Floats, view: SmallView) -> Floats:
        """Places (..., 2) in the plane, as `to_plane` gives them, to view pixels."""
        first, second = self.axes
        origin = ray_of(np.array([self.centre]), view)[0]
        spot = origin + np.linalg.norm(origin) * (places[..., :1] * first + places[..., 1:] * second)
        return np.asarray(view.focal_px * spot[..., :2] / spot[..., 2:] + view.centre_px)

    @property
    def axes(self) -> tuple[Floats, Floats]:
        """Unit vectors in the plane: the first along the photo's rows as nearly as the tilt allows."""
        first = np.array([1.0, 0, 0]) - self.normal[0] * self.normal
        first /= np.linalg.norm(first)
        return first, np.cross(self.normal, first)


def ray_of(points: Complex, view: SmallView) -> Floats:
    """Rays (n, 3) with third component 1 of view pixels (n,)."""
    shifted = (points - complex(*view.centre_px)) / view.focal_px
    return np.column_stack([shifted.real, shifted.imag, np.ones(len(points))])


def find_wheels(view: SmallView) -> list[Wheel]:
    """Drawings of spokes and rings in the view, surest first."""
    rng = np.random.default_rng(1)
    starts: list[tuple[Wheel, complex, LinePixels]] = []
    for pixels in line_pixels(view.luminance, LINE_SHARE, 3):
        if len(pixels) < LEAST_PIXELS:
            continue
        some = pixels.taken(rng.choice(len(pixels), min(MOST_PIXELS, len(pixels)), replace=False))
        starts += [(*_best_tilt(centre, some, view), some) for centre in vote_centres(some, view)]
    starts.sort(key=lambda start: -start[0].sure)
    found = [_settled(wheel.centre, tilt, pixels, view) for wheel, tilt, pixels in starts[:SETTLED]]
    return _different(sorted(found, key=lambda wheel: -wheel.sure))


def _different(wheels: list[Wheel]) -> list[Wheel]:
    kept: list[Wheel] = []
    for wheel in wheels:
        if all(abs(wheel.centre - other.centre) > 20 for other in kept):
            kept.append(wheel)
    return kept


def vote_centres(pixels: LinePixels, view: SmallView) -> list[complex]:
    """Places (view pixels) that many drawn pixels' own lines pass, most passed first."""
    reach = np.arange(NEAREST_PX, FARTHEST_PX, VOTE_STEP_PX)
    reach = np.concatenate([reach, -reach])
    shape = (view.height // CELL_PX + 1, view.width // CELL_PX + 1)
    spots = pixels.points[:, None] + reach * np.sqrt(pixels.along)[:, None]
    x, y = np.rint(spots.real / CELL_PX).astype(int), np.rint(spots.imag / CELL_PX).astype(int)
    inside = (x >= 0) & (y >= 0) & (x < shape[1]) & (y < shape[0])
    flat = (y * shape[1] + x)[inside]
    # Near pixels of a line hit anyway; far ones that hit are worth the same, but pass more cells.
    votes = np.bincount(flat, np.broadcast_to(pixels.weight[:, None], inside.shape)[inside], shape[0] * shape[1])
    table = votes.reshape(shape).astype(np.float32)
    peaks = cv2.GaussianBlur(table, (0, 0), 0.8) - cv2.blur(table, (15, 15))
    centres = []
    for _ in range(CENTRES):
        row, column = np.unravel_index(int(np.argmax(peaks)), shape)
        centres.append(complex(CELL_PX * column, CELL_PX * row))
        peaks[max(row - 5, 0) : row + 6, max(column - 5, 0) : column + 6] = -np.inf
    return centres


def _normal(tilt: complex) -> Floats:
    """Unit normal towards the camera of a plane tilted by |tilt| radians towards the azimuth of `tilt`."""
    size = abs(tilt)
    way = tilt / size if size > 0 else 0j
    return np.array([np.sin(size) * way.real, np.sin(size) * way.imag, -np.cos(size)])


def _judge(centre: complex, tilt: complex, pixels: LinePixels, view: SmallView) -> Wheel:
    """The best size of the drawing about `centre` in this plane."""
    wheel = Wheel(centre, _normal(tilt), 0.0, -1.0, 0.0)
    step = np.sqrt(pixels.along)
    both = wheel.to_plane(np.concatenate([pixels.points - step, pixels.points + step]), view)
    back, front = both[: len(pixels)], both[len(pixels) :]
    place = (back + front) / 2
    way = (front - back) ** 2
    way /= np.maximum(np.abs(way), 1e-12)
    radius = np.abs(place)
    ray = place * place
    ray /= np.maximum(radius**2, 1e-12)
    pattern = ((way * ray.conj()) ** 2).real * pixels.weight
    order = np.argsort(radius)
    sums, weights = np.cumsum(pattern[order]), np.cumsum(pixels.weight[order])
    best = wheel
    for share in SHARES:
        k = max(int(share * len(pixels)) - 1, 0)
        mean = float(sums[k] / weights[k])
        if mean * np.sqrt(share) > best.sure:
            # Stray pixels far out are not the drawing: its end is where nearly all that agree have ended.
            agreeing = order[: k + 1][pattern[order[: k + 1]] > 0.5 * pixels.weight[order[: k + 1]]]
            end = float(quantile(radius[agreeing], 0.95)) if len(agreeing) else 0.0
            best = Wheel(centre, wheel.normal, mean, mean * float(np.sqrt(share)), end)
    return best


def _best_tilt(centre: complex, pixels: LinePixels, view: SmallView) -> tuple[Wheel, complex]:
    """The plane at a centre that suits a part of the pixels best, from a grid of tilts."""
    few = pixels.taken(np.arange(0, len(pixels), PART))
    tilts = [0j] + [
        np.radians(size) * np.exp(2j * np.pi * k / AZIMUTHS) for size in TILTS_DEG[1:] for k in range(AZIMUTHS)
    ]
    judged = [(_judge(centre, complex(tilt), few, view), complex(tilt)) for tilt in tilts]
    return max(judged, key=lambda item: item[0].sure)


def _settled(centre: complex, tilt: complex, pixels: LinePixels, view: SmallView) -> Wheel:
    """Centre and tilt together by smaller and smaller steps."""
    few = pixels.taken(np.arange(0, len(pixels), PART))
    for size_px, size_rad in ((6, 0.07), (3, 0.035), (1.5, 0.017), (0.7, 0.009)):
        used = few if size_px > 2 else pixels
        now = _judge(centre, tilt, used, view)
        for _ in range(6):
            moves = [(centre + size_px * way, tilt) for way in (1, -1, 1j, -1j)]
            moves += [(centre, tilt + size_rad * way) for way in (1, -1, 1j, -1j)]
            judged = [(_judge(*move, used, view), *move) for move in moves]
            top = max(judged, key=lambda item: item[0].sure)
            if top[0].sure <= now.sure:
                break
            now, centre, tilt = top
    return _judge(centre, tilt, pixels, view)
