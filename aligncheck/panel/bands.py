"""The inside of an outline made straight, and steps across straight tracks in it, side by side.

An outline that is too large (a sheet under the panel, a table) hides the panel's own sides inside it; in the
rectified picture each of them is a nearly straight, nearly level track.
"""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.flat import flat_view
from aligncheck.panel.panel import Panel
from aligncheck.panel.small import CHANNEL_MATRIX

Floats = NDArray[np.float32]

#: Pieces along a side; the mean over them leaves out a fifth at both ends, so what lies over a part does not count.
PIECES, TRIMMED = 44, 9
#: Windows in pixels: close to the track, and beyond a gap, where a line's own colour has ended.
CLOSE, GAP, LASTING = 3, 3, 9
#: Least scatter of each band (codes; texture in its own units).
LEAST_SCATTER = np.array([0.4, 0.3, 0.3, 0.25], np.float32)
#: Widest rectified picture.
MOST_PX = 1300


class Band(NamedTuple):
    """What lies along one side of a rectified outline.

    Attributes
    ----------
    values : ndarray (depth, pieces, 4)
        Luminance, two colour differences, texture: means per piece; row 0 lies `outside` pixels outside the side.
    outside : int
    length_px : int, along the side
    px_per_mm : float
    """

    values: Floats
    outside: int
    length_px: int
    px_per_mm: float

    @property
    def places(self) -> Floats:
        """Middles of the pieces along the side, as shares from -0.5 to 0.5."""
        return ((np.arange(PIECES) + 0.5) / PIECES - 0.5).astype(np.float32)

    def down_to(self, depth_mm: float) -> "Band":
        """What lies no deeper than this."""
        return self._replace(values=self.values[: self.outside + max(int(depth_mm * self.px_per_mm), 0)])


def bands_of(
    pixels: NDArray[np.uint8],
    panel: Panel,
    *,
    depth: float,
    most_px: int = MOST_PX,
    outside: int = 12,
) -> list[Band]:
    """Bands along the top, right, bottom and left side, reaching inwards by `depth` times the shorter side."""
    side_px = 0.75 * float(np.linalg.norm(panel.corners_px - np.roll(panel.corners_px, 1, 0), axis=1).mean())
    mean_mm = (panel.width_mm + panel.height_mm) / 2
    per_mm = min(side_px, most_px) / mean_mm
    rows = round(depth * min(panel.width_mm, panel.height_mm) * per_mm) + outside
    picture = flat_view(pixels, panel, per_mm, margin_mm=outside / per_mm, rim_px=rows).image
    bands = []
    for turn in range(4):
        # Quarter turns bring each side to the top, so that along is always a row.
        strip = np.ascontiguousarray(np.rot90(picture, turn)[:rows])
        bands.append(_band(strip, outside, per_mm))
    return bands


def _band(strip: NDArray[np.uint8], outside: int, per_mm: float) -> Band:
    colour = cv2.transform(strip.astype(np.float32), CHANNEL_MATRIX)
    luminance = np.ascontiguousarray(colour[..., 0])
    fine = luminance - cv2.blur(luminance, (5, 5))
    texture = 3 * np.log(cv2.blur(np.minimum(fine * fine, 150), (11, 3)) + 0.6)
    stacked = np.dstack([colour, texture])[:, outside:-outside]
    width = stacked.shape[1]
    values = cv2.resize(stacked, (PIECES, stacked.shape[0]), interpolation=cv2.INTER_AREA)
    return Band(np.asarray(values, np.float32), outside, width, per_mm)


def _window_means(sums: Floats, first: NDArray[np.intp], last: NDArray[np.intp]) -> Floats:
    """Means of rows first .. last - 1 from cumulated `sums`; zero rows give NaN."""
    count = len(sums) - 1
    a, b = np.clip(first, 0, count), np.clip(last, 0, count)
    n = (b - a).astype(np.float32)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray((sums[b] - sums[a]) / np.where(n > 0, n, np.nan)[:, None, None], np.float32)


def soft_steps(band: Band, blind_px: int) -> tuple[Floats, Floats]:
    """Close and lasting steps (depth, pieces, 4), outside to inside, soft-limited to -1 .. 1.

    Nothing nearer than `blind_px` to the given side is used: its own edge would be seen from everywhere.
    """
    sums = np.zeros((len(band.values) + 1, *band.values.shape[1:]), np.float32)
    np.cumsum(band.values, axis=0, out=sums[1:])
    row = np.arange(len(band.values))
    floor = band.outside + blind_px if blind_px else 0
    close = _window_means(sums, row, row + CLOSE) - _window_means(sums, np.maximum(row - CLOSE, floor), row)
    outer = _window_means(sums, np.maximum(row - GAP - LASTING, floor), np.maximum(row - GAP, 0))
    lasting = _window_means(sums, row + GAP, row + GAP + LASTING) - outer
    if blind_px:
        # Short windows near the given side are less sure.
        trust = np.clip((row - band.outside - blind_px) / 9, 0.4, 1).astype(np.float32)[:, None, None]
        close, lasting = close * trust, lasting * trust
        close[: floor + 2] = 0
        lasting[: floor + 2] = 0
    return _soft(close), _soft(lasting)


def _soft(step: Floats) -> Floats:
    step = np.nan_to_num(step)
    # Each band's values side by side, so that a sort finds their medians.
    flat = np.ascontiguousarray(step.reshape(-1, step.shape[-1]).T)
    scatter = np.maximum(1.48 * medians(np.abs(flat - medians(flat)[:, None])), LEAST_SCATTER)
    return np.asarray(step / (np.abs(step) + 2.5 * scatter), np.float32)
