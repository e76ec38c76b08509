"""Where the colour of a side changes, worked out through what lens and file do to it.

Files store luminance at full resolution and colour, as differences of gamma-coded values, at half of it; phones smooth
colour further. What is stored is about the coded luminance times a ratio that belongs to the surface, and that product
blurred. So the luminance is taken as it shows, with shadows and all, each surface is given its ratio up to a trial
place, and the place is taken at which the blurred product is most like the colour of the file. A step fitted to the
colour itself would be drawn into the darker surface, and further still into a shadow beside the panel.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median, medians
from aligncheck.geometry.srgb import LUMINANCE, coded
from aligncheck.panel.step_fit import STEP_PX, TRIAL_PX, lowest
from aligncheck.panel.strips import Singles

Floats = NDArray[np.float64]

#: JPEG's luma and colour differences (ITU-R BT.601) from R, G, B codes.
TO_YCC = np.array([[0.299, 0.587, 0.114], [-0.168736, -0.331264, 0.5], [0.5, -0.418688, -0.081312]])
#: Blurs (sd) of colour that are tried, in px: full resolution, half of it, and smoothed by the phone.
BLURS_PX = (0.8, 1.2, 1.7, 2.2, 2.7, 3.3, 4.0)
#: Less light than this is lost in a phone's black level.
LEAST_LIGHT = 1e-3
#: Codes that noise and rounding leave in a mean of some lines: flat colour is known no better.
LEAST_CODE = 0.001


class ColourPlaces(NamedTuple):
    """Of each piece (n,): place (px outward), its variance, and how sure a change is there (standard deviations)."""

    offsets_px: Floats
    variance_px2: Floats
    sureness: Floats


def colour_places(light: Singles, spacing: float, search_px: float, lens_blur_px: float) -> ColourPlaces:
    """Find the place in profiles `light` (n, k, 3), linear, whose samples lie `spacing` times half a pixel apart."""
    half = (light.shape[1] - 1) // 2
    o = np.arange(-half, half + 1) * STEP_PX * spacing
    places = np.arange(-search_px, search_px + 0.01, TRIAL_PX)
    # A quarter of the pieces and half of the places tell how colour is blurred.
    some = _Profiles.of(light[::4], o)
    shares = some.shares(places[::2], lens_blur_px)
    blur = min(BLURS_PX, key=lambda one: median(some.misfits(shares, one).least))
    whole = _Profiles.of(light, o)
    found = whole.misfits(whole.shares(places, lens_blur_px), blur)
    best = np.clip(found.cost.argmin(axis=0), 1, len(places) - 2)
    n = np.arange(len(light))
    place, curve = lowest(found.cost[best + np.array([[-1], [0], [1]]), n], places[best], TRIAL_PX)
    # What is blurred by s is one value over about 4 s.
    alike = max(4 * blur / (o[1] - o[0]), 1.0)
    freedom = max(2 * float((whole.window**2).sum()) / alike, 2.0)
    left = found.least
    noise = np.maximum(left, median(left) / 4) / freedom + LEAST_CODE**2
    sureness = np.sqrt(np.maximum(found.without - left, 0) / (noise * alike))
    return ColourPlaces(place, 2 * noise / curve, sureness)


class _Misfits(NamedTuple):
    """Sums of squares of the colour: (trials, n) of a change at each trial place, and (n,) of no change at all."""

    cost: Floats
    without: Floats

    @property
    def least(self) -> Floats:
        return np.asarray(self.cost.min(axis=0), float)


class _Profiles(NamedTuple):
    """Profiles (n, k) at offsets `o`: light, its level on the face (n,), luma and colour differences, and a window."""

    o: Floats
    light: Floats
    inner: Floats
    luma: Floats
    colour: Floats
    window: Floats

    @classmethod
    def of(cls, light: Singles, o: Floats) -> "_Profiles":
        luminance = np.maximum(light @ LUMINANCE, LEAST_LIGHT)
        ycc = coded(light.astype(float)) @ TO_YCC.T
        inner = medians(luminance[:, : len(o) // 3], 1)
        window = np.exp(-((o / o[-1] * 1.6) ** 2) / 4)
        return cls(o, luminance, inner, ycc[..., 0], ycc[..., 1:], window)

    def shares(self, places: Floats, lens_blur_px: float) -> Floats:
        """Share (trials, n, k) of the light at each sample that comes from outside a side at each place.

        The face is as bright up to its edge as further in; what is more or less than that is the outside's.
        """
        covered = normal_cdf((self.o - places[:, None]) / lens_blur_px)[:, None]
        outside = (covered - 1) * (self.inner[:, None] / self.light)
        outside += 1
        # Threads of the panel itself are no light from outside.
        np.maximum(outside, np.where(covered > 0.98, 1.0, 0.0), out=outside)
        return np.minimum(outside, np.where(covered < 0.02, 0.0, 1.0), out=outside)

    def misfits(self, shares: Floats, blur_px: float) -> _Misfits:
        """What two ratios, one inside and one outside, leave of the colour if it is blurred so (sd)."""
        kernel = np.exp(-0.5 * ((self.o[:, None] - self.o) / blur_px) ** 2)
        kernel /= kernel.sum(axis=1, keepdims=True)
        kernel = kernel.T * self.window
        # One product of many rows is faster than many products of few.
        outer = ((self.luma * shares).reshape(-1, len(self.o)) @ kernel).reshape(shares.shape)
        whole = self.luma @ kernel
        y = [np.ascontiguousarray(self.colour[..., c]) * self.window for c in (0, 1)]
        # The columns are the whole and, of the outer part, what is not like the whole.
        norm = np.maximum(np.vecdot(whole, whole), 1e-12)
        without = sum(np.vecdot(one, one) - np.vecdot(whole, one) ** 2 / norm for one in y)
        outer -= (np.vecdot(outer, whole) / norm)[..., None] * whole
        own = np.maximum(np.vecdot(outer, outer), 1e-9)
        gained = sum(np.vecdot(outer, one) ** 2 for one in y) / own
        return _Misfits(np.maximum(without - gained, 0), np.asarray(without, float))
