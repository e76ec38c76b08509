"""The panel from above as dots are looked for in it: how unlike the bare panel each pixel is, in units of its noise."""

from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import Ground, fit_ground
from aligncheck.dots.grounds import other_grounds
from aligncheck.geometry.channels import lengths
from aligncheck.geometry.scaled import Scaled
from aligncheck.panel import Panel
from aligncheck.panel.flat import flat_maps
from aligncheck.photo import Photo

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Finest view: a dot of 1.1 mm is then 7 pixels wide; a phone's photo of a 30 cm panel holds about as much.
PX_PER_MM = 6.6
#: So many rows of it at a time are turned into luma and colour.
ROWS = 64
#: A view finer than this many times the photo shows nothing more.
FINER = 1.25
#: Largest view, pixels on its longer side: bounds time and memory for large panels.
LARGEST_PX = 3000
#: Luma and the two colour differences of gamma-coded values. Phones store colour at half resolution, in these very
#: axes, so that luma edges stay sharp in the first.
YCC = np.array([[0.299, 0.587, 0.114], [0.5, -0.419, -0.081], [-0.169, -0.331, 0.5]], np.float32)
#: Bare pixels are told from painted ones by this distance in their own spread, in so many rounds.
BARE, ROUNDS = 3.0, 6
#: Unlike by this many times the noise is half of all there is, so that highlights and shaded sides of a dot differ
#: little.
HALF_AT = 5.0
#: The least spread of a channel: half a step of 8-bit codes, and what compression leaves.
LEAST_SD = 0.004


@dataclass(frozen=True)
class DotView(Scaled):
    """The flat view.

    Attributes
    ----------
    away : ndarray (h, w, 3)
        Difference from the bare panel in luma and the two colour differences of gamma-coded values: sharp in the first.
    unlike : ndarray (h, w, 3)
        Difference from the ground there, turned and scaled so that the bare panel's own noise is 1 in every direction.
    px_per_mm : float
    origin_px : (float, float)
        Where the panel's origin lies.
    ground : ndarray (h, w, 3) or None
        How unlike the bare panel the ground is, as `unlike` is scaled; None where all of it is bare.
    """

    away: Singles
    unlike: Singles
    px_per_mm: float
    origin_px: tuple[float, float]
    ground: Singles | None = None

    @cached_property
    def painted(self) -> Singles:
        """How unlike the bare panel each pixel is, brought from 0 .. infinity to 0 .. 1: (h, w)."""
        away = lengths(self.unlike)
        return np.asarray(np.divide(away, away + np.float32(HALF_AT), out=away), np.float32)

    @cached_property
    def unlike_the_panel(self) -> Singles:
        """As `unlike`, but from the bare panel everywhere: chalk has one colour then on whatever it is drawn."""
        return self.unlike if self.ground is None else self.unlike + self.ground

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return self.away.shape[0], self.away.shape[1]


def dot_view(photo: Photo, panel: Panel) -> DotView:
    """Rectify the photo, and set every pixel against the bare panel."""
    longer = max(panel.width_mm, panel.height_mm)
    scale = min(PX_PER_MM, LARGEST_PX / longer, FINER * float(panel.px_per_mm()))
    width, height = round(panel.width_mm * scale), round(panel.height_mm * scale)
    origin = ((width - 1) / 2, (height - 1) / 2)
    map_x, map_y = flat_maps(panel, scale, (width, height), origin)
    rgb = cv2.remap(photo.rgb, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    # Freed early: the large arrays that live side by side here are many.
    del map_x, map_y
    luma = np.empty((height, width, 3), np.float32)
    for k in range(0, height, ROWS):
        luma[k : k + ROWS] = cv2.transform(rgb[k : k + ROWS].astype(np.float32), YCC / 255)
    del rgb
    panel_ground = fit_ground(luma[::2, ::2].astype(np.float32), scale / 2, (panel.width_mm / 2, panel.height_mm / 2))
    bare = bare_image(panel_ground, luma.shape[:2], scale, origin)
    bright = np.asarray(cv2.extractChannel(luma, 0), np.float32)
    # In place: these pictures are what the whole command needs most memory for.
    away = np.subtract(luma, bare, out=luma)
    del bare
    white = whitening(away)
    unlike = np.asarray(cv2.transform(away, white.astype(np.float32)), np.float32)
    ground = other_grounds(unlike, bright, scale)
    if ground is not None:
        unlike -= ground
        away -= cv2.transform(ground, np.linalg.inv(white).astype(np.float32))
    return DotView(away, unlike, scale, origin, ground)


def bare_image(ground: Ground, shape: tuple[int, int], scale: float, origin: tuple[float, float]) -> Singles:
    """The bare panel (h, w, 3); unlike `Ground.image` also where a channel is negative."""
    coarse = 16
    h, w = -(-shape[0] // coarse) + 2, -(-shape[1] // coarse) + 2
    xs = ((np.arange(w) - 0.5) * coarse - 0.5 - origin[0]) / scale
    ys = ((np.arange(h) - 0.5) * coarse - 0.5 - origin[1]) / scale
    nodes = ground.at(np.stack(np.meshgrid(xs, ys), -1)).astype(np.float32)
    full = cv2.resize(nodes, (w * coarse, h * coarse), interpolation=cv2.INTER_LINEAR)
    return np.asarray(full[coarse : coarse + shape[0], coarse : coarse + shape[1]], np.float32)


def whitening(difference: Singles, least_sd: float = LEAST_SD) -> Floats:
    """The matrix (3, 3) that makes the bare panel's noise 1 in every direction.

    The spread is that of the most even half of the pixels (a robust covariance by concentration, as in Rousseeuw and
    Van Driessen 1999), widened for the tails that this cuts off.
    """
    step = max(1, int(np.sqrt(difference.shape[0] * difference.shape[1] / 60000)))
    sample = difference[::step, ::step].reshape(-1, 3).astype(float)
    spread = np.diag(np.maximum(np.median(np.abs(sample), axis=0) * 1.48, least_sd) ** 2)
    for _ in range(ROUNDS):
        distance = np.einsum("ni,ij,nj->n", sample, np.linalg.inv(spread), sample)
        kept = sample[distance < BARE**2]
        if len(kept) < 100:
            break
        # A ball of radius 3 holds 97 % of a Gaussian in three dimensions: the loss of spread is 7 %.
        spread = kept.T @ kept / len(kept) * 1.07 + least_sd**2 * np.eye(3)
    values, vectors = np.linalg.eigh(spread)
    return np.asarray(vectors @ np.diag(1 / np.sqrt(values)) @ vectors.T, float)
