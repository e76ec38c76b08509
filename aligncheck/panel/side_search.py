"""The coarse search: candidate tracks of a side, along which the light or colour steps."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, medians, quantile
from aligncheck.lens import Lens
from aligncheck.lens.bend import unbend_each
from aligncheck.panel.colour_channels import log_channels
from aligncheck.panel.step_filter import StepFilter
from aligncheck.panel.strips import Singles, read_strip, side_between

Floats = NDArray[np.float64]

#: Pieces along a side in the coarse search, and lines read for each.
PIECES = 24
LINES = 8
#: Places of the pieces' middles along the side, -0.5 to 0.5.
PLACES = (np.arange(PIECES) + 0.5) / PIECES - 0.5
#: Lens terms k1 that are tried: phones stay within 0.06 (the fit itself is free).
BENDS: Floats = np.arange(-3, 4, dtype=float) * 0.02
#: Least scatter that log luminance and the two log colour ratios are given: a clean panel must not make dust count.
FLOORS = np.array([0.03, 0.015, 0.015], np.float32)
#: A second track of a side must lie this far (units) from a stronger one, and be this strong against the best.
APART = 2.5
WEAKEST = 0.35
MOST = 5


@dataclass(frozen=True)
class CoarseStrip:
    """What the coarse search sees of one side.

    Attributes
    ----------
    offsets_px : ndarray (k,)
        Outward from the side through the starting corners.
    seen : ndarray (PIECES, k, 4)
        Signed step in three channels over the panel's own scatter, clipped to +-5, and how surely any step is there.
    heights : ndarray (PIECES, k, 3)
        The steps themselves, in log luminance, log red/green, log blue/green.
    scatter : ndarray (3,)
        The panel's own scatter of `heights`.
    log_light : ndarray (PIECES, k, 3)
        The three log channels.
    bows_px : ndarray (len(bends), PIECES)
        How each of the lens terms bends this side.
    """

    offsets_px: Floats
    seen: Singles
    heights: Singles
    scatter: Singles
    log_light: Singles
    bows_px: Floats

    @property
    def unit_px(self) -> float:
        """Spacing of the offsets."""
        return float(self.offsets_px[1] - self.offsets_px[0])

    def index(self, lines_px: Floats) -> NDArray[np.int_]:
        """Nearest samples to offsets in px."""
        nearest = np.rint((lines_px - self.offsets_px[0]) / self.unit_px).astype(int)
        return np.asarray(np.clip(nearest, 0, len(self.offsets_px) - 1), int)


@dataclass(frozen=True)
class Track:
    """A candidate: offsets (px) from the starting side at its first and second corner, and its strength 0..1.3."""

    first_px: float
    second_px: float
    strength: float

    def line(self, bow_px: Floats) -> Floats:
        """Offsets (PIECES,) in px of the pieces' middles."""
        return (self.first_px + self.second_px) / 2 + (self.second_px - self.first_px) * PLACES + bow_px


def coarse_strip(
    rgb: NDArray[np.uint8], corners: tuple[Floats, Floats], lens: Lens, reach_px: float, unit: float, bends: Floats
) -> CoarseStrip:
    """Read one side between two starting `corners`; the true side lies within `reach_px`; `unit` px a sample."""
    inner, outer = int(reach_px / unit) + 62, int(reach_px / unit) + 26
    offsets = np.arange(-inner, outer + 1, dtype=float) * unit
    side = side_between(*corners, lens, (np.arange(PIECES * LINES) + 0.5) / (PIECES * LINES))
    light = read_strip(rgb, side, offsets).reshape(PIECES, LINES, len(offsets), 3).mean(axis=1)
    known = np.isfinite(light).all(axis=-1)
    log_light = log_channels(np.nan_to_num(light))
    heights = StepFilter.design(1.2, 4.0, 1.0).heights(log_light)
    # The panel's own scatter, further in than the side can lie.
    inside = (offsets > -(inner - 12) * unit) & (offsets < -(reach_px + 4 * unit))
    scatter = np.maximum(1.48 * medians(np.abs(heights[:, inside]).reshape(-1, 3), 0), FLOORS)
    seen = heights / scatter
    # On very clean panels everything would be clipped: no step under 8 % of the largest counts as full.
    seen = np.clip(seen / np.maximum(1, 0.08 * quantile(np.abs(seen).reshape(-1, 3), 0.99, axis=0)), -5, 5)
    seen[~known] = 0
    square = (seen * seen).sum(axis=-1, keepdims=True)
    both = np.asarray(np.concatenate([seen, square / (square + 4)], axis=-1), np.float32)
    return CoarseStrip(offsets, both, heights, scatter, log_light, _bows(corners, lens, bends))


def _bows(corners: tuple[Floats, Floats], lens: Lens, bends: Floats) -> Floats:
    """How far outward (len(bends), PIECES) each lens term puts the places of a side between the same corners."""
    straight = side_between(*corners, lens, PLACES + 0.5)
    lenses = [replace(lens, k1=lens.k1 + k1) for k1 in bends]
    ends = unbend_each(lenses, np.stack(corners))
    along = ends[:, :1] + (PLACES + 0.5)[:, None] * (ends[:, 1:] - ends[:, :1])
    r2 = (along * along).sum(-1, keepdims=True)
    k1 = (lens.k1 + bends)[:, None, None]
    bent = along * (1 + r2 * (k1 + r2 * lens.k2)) * lens.focal_px + (lens.cx_px, lens.cy_px)
    return np.asarray(((bent - straight.points_px) * straight.outward).sum(-1), float)


def track_strengths(strip: CoarseStrip, reach_px: float) -> tuple[Floats, Floats, Singles]:
    """Strength of every track: offsets (a,), slopes (b,) in px, strengths (bends, a, b)."""
    unit = strip.unit_px
    reach = int(reach_px / unit)
    offsets = np.arange(-reach, reach + 1, dtype=float) * unit
    slopes = np.arange(-(reach - reach % 2), reach + 1, 2, dtype=float) * unit
    # Windows of all offsets at once: (PIECES, start, 4, offsets); a track is one window start for each piece.
    windows = np.lib.stride_tricks.sliding_window_view(strip.seen, len(offsets), axis=1)
    middle = slopes[:, None] * PLACES + strip.bows_px[:, None, :]
    starts = np.clip(strip.index(middle) - reach, 0, windows.shape[1] - 1)
    mean = windows[np.arange(PIECES), starts].mean(axis=2)
    # Half for a step that is the same all along, half for any step at all: tables may be patterned.
    strengths = 0.1 * np.sqrt((mean[..., :3, :] ** 2).sum(axis=-2)) + 0.5 * mean[..., 3, :]
    # The start is right at the corners: no track may leave the reach there.
    ends = np.abs(offsets) + np.abs(slopes[:, None]) / 2
    strengths[:, ends > reach_px + unit] = 0
    return offsets, slopes, np.asarray(strengths.swapaxes(1, 2), np.float32)


def pick_tracks(strip: CoarseStrip, offsets: Floats, slopes: Floats, strengths: Singles, bow: Floats) -> list[Track]:
    """The strongest tracks (a, b) of one bend that are no echo of a stronger one."""
    highest = cv2.dilate(strengths, np.ones((5, 5), np.uint8))
    peaks = np.argwhere((strengths == highest) & (strengths > WEAKEST * strengths.max()))
    peaks = peaks[np.argsort(-strengths[tuple(peaks.T)])]
    kept: list[tuple[Track, Floats, Singles]] = []
    for a, b in peaks:
        track = Track(offsets[a] - slopes[b] / 2, offsets[a] + slopes[b] / 2, float(strengths[a, b]))
        line = track.line(bow)
        steps = strip.heights[np.arange(PIECES), strip.index(line)]
        if not any(_echo(line, steps, other, strip.unit_px) for other in kept):
            kept.append((track, line, steps))
        if len(kept) == MOST:
            break
    return [track for track, _, _ in kept]


def _echo(line: Floats, steps: Singles, other: tuple[Track, Floats, Singles], unit: float) -> bool:
    """Whether a track is the same as a stronger one, or only its opposite swing in the filter's response."""
    _, stronger, strong_steps = other
    apart = median(np.abs(line - stronger)) / unit
    if apart < APART:
        return True
    against = (steps * strong_steps).sum(axis=1) / np.maximum((strong_steps**2).sum(axis=1), 1e-9)
    # The swing is 0.39 of the step that makes it, 4 to 9 px off.
    return bool(apart < 9 and -0.5 < median(against) < 0)
