"""Where exactly a side lies, piece by piece: a blurred step with a ramp beside it, fitted in linear light."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry import srgb
from aligncheck.geometry.small import median
from aligncheck.lens import Lens
from aligncheck.panel.colour_channels import DARK
from aligncheck.panel.step_fit import STEP_PX, WINDOW_PX, Channel, fit_steps
from aligncheck.panel.strips import Side, Singles, read_strip, side_between

Floats = NDArray[np.float64]

#: Pieces along a side and lines read for each, in the last pass and before.
PIECES = 64
LINES, FEW_LINES = 12, 6
#: The corners are rounded and often worn: this share of the side is left out at both ends.
ENDS = 0.02
#: Blur (sd) of an edge in luminance, px.
BLUR_PX = 0.95
#: No piece is surer than this: no arris is straighter, and a side's small waves must not be taken for the lens's bend.
LEAST_PX = 0.06
#: Blurs that are tried where edges are clear: half-size photos are sharper, soft focus and motion blur more.
BLURS_PX = (0.6, BLUR_PX, 1.4, 2.0)
#: In single precision, as profiles are.
LUMINANCE = srgb.LUMINANCE.astype(np.float32)
#: Steps that are this sure in the median are clear.
CLEAR = 8.0


class Edges(NamedTuple):
    """Sub-pixel places along one side.

    Attributes
    ----------
    points_px : ndarray (n, 2)
        In photo pixels.
    outward : ndarray (n, 2)
        Unit vectors across the side.
    variance_px2 : ndarray (n,)
        Of each place across the side, from noise alone; infinite where nothing is seen.
    sureness : ndarray (n,)
        Height of the step over its standard deviation.
    offsets_px : ndarray (n,)
        Of the places from the track they were looked for along.
    ramp_px : float
        Median of ramp beside the step over the step itself, per pixel: how much a shadow's edge interferes.
    outshines : float
        How far the panel is brighter than what lies outside, 0 to 1: a half where they are alike.
    banded : bool
        Whether what shows beside the edge was fitted along: the places are then those of the true edge.
    """

    points_px: Floats
    outward: Floats
    variance_px2: Floats
    sureness: Floats
    offsets_px: Floats
    ramp_px: float
    outshines: float
    banded: bool = False

    def moved(self, outward_px: float) -> "Edges":
        """The same places, all shifted outward."""
        return self._replace(points_px=self.points_px + outward_px * self.outward)


def read_edge_strip(
    rgb: NDArray[np.uint8], first: Floats, second: Floats, lens: Lens, unit: float, lines: int = LINES
) -> tuple[Side, Singles]:
    """The middle places (PIECES) of a side and its profiles (PIECES, k, 3) within the window."""
    offsets = np.arange(-WINDOW_PX, WINDOW_PX + STEP_PX / 2, STEP_PX) * unit
    shares = ENDS + (1 - 2 * ENDS) * (np.arange(PIECES * lines) + 0.5) / (PIECES * lines)
    side = side_between(first, second, lens, shares)
    light = read_strip(rgb, side, offsets).reshape(PIECES, lines, len(offsets), 3).mean(axis=1)
    return side_between(first, second, lens, shares.reshape(PIECES, lines).mean(axis=1)), light


def edge_blur(light: Singles, search_px: float, unit: float, next_px: Floats | None = None) -> float | None:
    """The blur (sd, samples of one unit) that fits the steps of a side best, None where too little is seen to tell."""
    # Every fourth piece is enough to tell.
    next_edge = np.full(len(light), np.inf) if next_px is None else next_px / unit
    best = sharpest(np.nan_to_num(light[::4]) @ LUMINANCE, BLURS_PX, LEAST_PX, search_px / unit, next_edge[::4])
    return best.blur_px if best is not None else None


def sharpest(
    profiles: Singles, blurs_px: tuple[float, ...], least_px: float, search_px: float, next_edge: Floats
) -> Channel | None:
    """The channel with the blur that makes its steps surest, None where they are not clear with any.

    Sureness is the step over the misfit's noise: highest where the model fits best.
    """
    channels = [Channel(profiles, blur, least_px) for blur in blurs_px]
    sureness = [median(fit_steps([one], search_px, next_edge)[2]) for one in channels]
    return channels[int(np.argmax(sureness))] if max(sureness) >= CLEAR else None


def locate_edges(
    side: Side,
    light: Singles,
    search_px: float,
    unit: float,
    next_px: Floats | None = None,
    blur_px: float = BLUR_PX,
    also: tuple[Channel, ...] = (),
) -> Edges:
    """Places of the step in each piece, at most `search_px` from the track, in luminance and channels given `also`.

    `next_px` (n,) is how far outside the track another strong edge follows, if one does.
    """
    next_edge = np.full(len(light), np.inf) if next_px is None else next_px / unit
    known = np.isfinite(light).all(axis=(1, 2))
    light = np.nan_to_num(light)
    channels = [Channel(light @ LUMINANCE, blur_px, LEAST_PX), *also]
    place, variance, sureness, ramp = fit_steps(channels, search_px / unit, next_edge)
    variance[~known] = np.inf
    place = place * unit
    points = side.points_px + place[:, None] * side.outward
    sureness = np.where(known, sureness, 0)
    outshines = _outshines(light[known] @ LUMINANCE)
    return Edges(points, side.outward, variance * unit**2, sureness, place, median(ramp) / unit, outshines)


def _outshines(profiles: Singles) -> float:
    """How far the inner end of `profiles` (n, k) is brighter than the outer one, 0 to 1."""
    quarter = profiles.shape[1] // 4
    if not len(profiles):
        return 0.5
    inner, outer = (median(part) + DARK for part in (profiles[:, :quarter], profiles[:, -quarter:]))
    # Twice as bright is clearly brighter: a power of three makes eight parts to one of it.
    return inner**3 / (inner**3 + outer**3)
