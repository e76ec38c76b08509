"""Sides that show two edges some pixels apart: of the face, and of the side face or of the rounding beside it.

Where a side face is seen at a flat angle, it meets the face in one step and the table in another. Is the panel dark all
round, the outer one is the stronger, and a single step is placed there or somewhere between. How far apart they lie
follows from where the camera stands and from the panel's thickness. Is the angle flatter still, only the rounding of a
thick panel's edge is wide enough to show: a band without the sheen of the face, and then its outer edge is the panel's.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median, medians
from aligncheck.panel.colour_channels import DARK
from aligncheck.panel.edges import LEAST_PX, LUMINANCE, Edges
from aligncheck.panel.step_fit import CORRELATED, STEP_PX, WINDOW_PX, lowest
from aligncheck.panel.strips import Side, Singles

Floats = NDArray[np.float64]

#: Thickness of boards as they are sold, mm.
USUAL_DEPTH_MM = 3.0
#: Flatter than this (tangent) a side face is lost in the rounding of its edge.
LEAST_SLANT, LEAST_FACE_SLANT = 0.02, 0.03
#: Where the thickness is told and a side face shows at least so wide (px), flatter sides are looked at, too; the dark
#: seam at the foot makes their band wider by so many px.
LEAST_TOLD_PX, SEAMS_PX = 0.6, (1.0, 2.0)
#: Narrower bands are not told from the blur, wider ones are two edges far apart, px.
NARROWEST_PX, WIDEST_PX = 1.2, 6.0
#: What shows of the rounding of canvas around a bar, mm.
ROUNDING_MM = 0.3
#: How much of what one step leaves unexplained two must explain to be believed: for a board of the usual thickness; for
#: any other, whose width is free (px tried, and the thicknesses that there are, mm); for a rounding.
FACE_GAIN, ANY_FACE_GAIN, ROUNDING_GAIN = 0.35, 0.6, 0.8
ANY_WIDTHS_PX, DEPTHS_MM = (1.5, 2.0, 2.7, 3.5, 4.5, 6.0), (2.0, 45.0)
#: A rounding lacks the sheen of the face: this share of its light at least. What follows outside is brighter than the
#: band by so much of it; a bright edge before a dark ground is only the shine of its rounding.
LEAST_CHANGE, LEAST_RISE = 0.3, 0.25
#: Grain, weave and sheen change a face's light by this share; a side face less unlike it is not told from it.
GRAIN = 0.1
#: An edge may be blurred so much more than the lens blurs it.
BROADER = 1.4
#: Places tried, px from the track, and how far a side may turn against it.
REACH_PX, TRIAL_PX, TURNS_PX = 5.0, 0.25, (-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5)
#: One step that leaves less than this share more than the noise leaves nothing to explain.
LEAST_MISFIT = 0.25
#: A piece speaks with at most this much misfit over its noise.
MOST_MISFIT = 3.0


class Band(NamedTuple):
    """A band that may show beside a side: `width_px`, whether it lies inside the panel's edge (its rounding), how much
    of what one step leaves unexplained it must explain, and whether it must be clearly darker than the face."""

    width_px: float
    inside: bool
    least_gain: float = 0.35
    dips: bool = False

    def believed(self, gain: float, first: float, second: float, face: float) -> bool:
        """Whether its two steps (outward, linear light) are those of such a band beside a `face` of that light."""
        # No surface is darker than black, and one that is as light as the face shows no edge.
        if gain < self.least_gain or second < LEAST_RISE * face or first < -face or abs(first) < GRAIN * face:
            return False
        # A blur that is not quite the lens's looks like two steps, too, but not like a dip that keeps some light.
        if self.dips and first >= -LEAST_CHANGE * face:
            return False
        # The rounding must lack the face's sheen. A side face may get as much light as the face, but where the first
        # step outward is the large one, it is the panel's whole edge and the second only a shadow beside it.
        return first < -LEAST_CHANGE * face if self.inside else first < second


def bands_beside(slant: float, px_per_mm: float, depth_mm: float | None, follows: bool) -> list[Band]:
    """What may show beside a side seen at this slant (tangent, positive where the side face shows), likeliest first.

    Another strong edge that `follows` outside is the foot of the side face: then only the rounding is left between.
    """
    bands = []
    usual = slant * px_per_mm * (USUAL_DEPTH_MM if depth_mm is None else depth_mm)
    if slant < LEAST_SLANT and (depth_mm is None or usual < LEAST_TOLD_PX):
        return []
    if slant >= LEAST_FACE_SLANT and NARROWEST_PX <= usual <= WIDEST_PX:
        bands.append(Band(usual, False, FACE_GAIN))
    elif depth_mm is not None and slant < LEAST_FACE_SLANT and usual >= LEAST_TOLD_PX:
        widths = [max(usual, NARROWEST_PX), *(usual + seam for seam in SEAMS_PX)]
        bands += [Band(width, False, ANY_FACE_GAIN, dips=True) for width in widths if width <= WIDEST_PX]
    if follows and slant >= LEAST_SLANT:
        rounding = Band(ROUNDING_MM * px_per_mm, True, ROUNDING_GAIN)
        if usual < NARROWEST_PX <= rounding.width_px and (depth_mm is None or depth_mm > USUAL_DEPTH_MM):
            bands.append(rounding)
    elif depth_mm is None and slant >= LEAST_FACE_SLANT:
        thinnest, thickest = (slant * px_per_mm * depth for depth in DEPTHS_MM)
        bands += [Band(width, False, ANY_FACE_GAIN) for width in ANY_WIDTHS_PX if thinnest <= width <= thickest]
    return bands


def with_band(edges: Edges, side: Side, light: Singles, bands: list[Band], unit: float, blur_px: float) -> Edges | None:
    """The places of the panel's edge itself along `side`, or None where one step explains the profiles as well.

    `light` (n, k, 3) are the profiles about `side`, as :func:`read_edge_strip` gives them. Of several believed `bands`
    of free width the one that explains most is taken.
    """
    if not bands or not np.isfinite(light).all():
        return None
    profiles = light @ LUMINANCE
    places = np.arange(-REACH_PX, REACH_PX + 0.01, TRIAL_PX)
    window = _window(profiles)
    face = median(profiles[:, : profiles.shape[1] // 5])
    # A shadow beside an edge broadens it: two steps of any width must explain more than one of any blur. A side face of
    # the width that is told or usual is likely beforehand: its rival is an edge with the lens's blur.
    blurs = (blur_px, BROADER * blur_px)
    singles = {
        rigid: [_misfits(_Model(None, blur, rigid), profiles, places, window) for blur in blurs]
        for rigid in {band.inside for band in bands}
    }
    best: tuple[float, float] = (-np.inf, 0.0)
    chosen = None
    for band in bands:
        model = _Model(band.width_px / unit, blur_px, rigid=band.inside)
        double = _misfits(model, profiles, places, window)
        one = singles[band.inside] if band.least_gain > FACE_GAIN else singles[band.inside][:1]
        least = np.minimum.reduce([misfit.min(axis=0) for misfit in (*one, double)])
        noise = np.maximum(least, median(least) / 2) + 1e-12
        alone = min(_along_best_line(single / noise, places)[0] for single in one)
        both, line = _along_best_line(double / noise, places)
        gain = (alone - both) / max(alone - len(noise), LEAST_MISFIT * len(noise))
        # What needs less to be believed comes first; among its equals the one that explains most.
        rank = (-band.least_gain, gain)
        if rank > best and band.believed(gain, *_heights(model, profiles, line, window), face):
            best, chosen = rank, (double, line, band.width_px / unit if band.inside else 0.0)
    return _placed(edges, side, chosen[0], chosen[1], places, chosen[2], unit) if chosen else None


class _Model(NamedTuple):
    """One edge, or two that are `width_px` apart: level, slope, their steps, and a ramp outside.

    But where it is `rigid` the (outer) edge may lie a little off its place and be blurred a little otherwise: two
    derivatives take that up, so that only another edge is left for the inner step to explain.
    """

    width_px: float | None
    blur_px: float
    rigid: bool = False

    def columns(self, o: Floats, places: Floats) -> Floats:
        """Its columns (places, k, c) at samples (k,) for an edge, or the inner one, at each of the `places`."""
        inner = (o - places[:, None]) / self.blur_px
        outer = inner - (self.width_px or 0.0) / self.blur_px
        columns = [np.ones_like(outer), np.broadcast_to(o, outer.shape), np.maximum(outer, 0)]
        if not self.rigid:
            bell = np.exp(-(outer**2) / 2)
            columns += [bell, outer * bell]
        columns += [normal_cdf(edge) for edge in ([outer] if self.width_px is None else [inner, outer])]
        return np.asarray(np.stack(columns, axis=2), float)


def _window(profiles: Singles) -> Floats:
    """Weights (k,) of the samples: near ones count more, and so do dark ones, for noise and pattern grow with light."""
    o = _samples(profiles)
    light = medians(profiles, 0) + DARK
    return np.asarray(np.exp(-((o / WINDOW_PX * 1.6) ** 2) / 4) * light.min() / light, float)


def _samples(profiles: Singles) -> Floats:
    half = (profiles.shape[1] - 1) // 2
    return np.arange(-half, half + 1) * STEP_PX


def _misfits(model: _Model, profiles: Singles, places: Floats, window: Floats) -> Floats:
    """Sum of squares (places, n) that a model at each place leaves of the profiles (n, k)."""
    y = profiles.T.astype(float) * window[:, None]
    whole = (y * y).sum(axis=0)
    q, _ = np.linalg.qr(model.columns(_samples(profiles), places) * window[:, None])
    part = q.transpose(0, 2, 1) @ y
    return np.maximum(whole - (part * part).sum(axis=1), 0)


def _heights(model: _Model, profiles: Singles, line: Floats, window: Floats) -> tuple[float, float]:
    """Median heights of the two steps along a line over the pieces."""
    q, r = np.linalg.qr(model.columns(_samples(profiles), line) * window[:, None])
    products = q.transpose(0, 2, 1) @ (profiles * window)[..., None]
    try:
        first, second = medians(np.linalg.solve(r, products)[:, -2:, 0], 0)
    except np.linalg.LinAlgError:
        # A step that lies outside the window has no height.
        return 0.0, 0.0
    return float(first), float(second)


def _along_best_line(misfit: Floats, places: Floats) -> tuple[float, Floats]:
    """The least total misfit along a straight line over the pieces, and the line (n,)."""
    n = misfit.shape[1]
    shares, pieces = (np.arange(n) + 0.5) / n - 0.5, np.arange(n)
    bounded = np.minimum(misfit, MOST_MISFIT)
    tried = places[4:-4, None, None] + np.array(TURNS_PX)[:, None] * shares
    at = np.clip(np.rint((tried - places[0]) / TRIAL_PX).astype(int), 0, len(places) - 1)
    totals = bounded[at, pieces].sum(axis=2)
    best = np.unravel_index(int(totals.argmin()), totals.shape)
    return float(totals[best]), tried[best]


def _placed(
    edges: Edges, side: Side, misfit: Floats, line: Floats, places: Floats, further: float, unit: float
) -> Edges:
    """Each piece's own place within a pixel of the line, and so much `further` out."""
    near = np.where(np.abs(places[:, None] - line) <= 1.0, misfit, np.inf)
    at = np.clip(near.argmin(axis=0), 1, len(places) - 2)
    n = np.arange(len(line))
    window = np.stack([misfit[at + k, n] for k in (-1, 0, 1)])
    place, curve = lowest(window, places[at], TRIAL_PX)
    freedom = (WINDOW_PX / STEP_PX) / CORRELATED
    noise = np.maximum(window[1], median(window[1]) / 4) / freedom + 1e-9
    place = (np.clip(place, line - 1.0, line + 1.0) + further) * unit
    return edges._replace(
        points_px=side.points_px + place[:, None] * side.outward,
        outward=side.outward,
        variance_px2=(2 * noise / curve + LEAST_PX**2) * unit**2,
        offsets_px=place,
        banded=True,
    )
