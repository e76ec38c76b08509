"""How well a refined outline is borne out by the photo at full size."""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import medians
from aligncheck.panel.bands import bands_of
from aligncheck.panel.drawing_sign import DrawingSign, drawing_sign
from aligncheck.panel.ground import ground_beyond_sides
from aligncheck.panel.panel import Panel, nominal_corners
from aligncheck.panel.side_fit import SideFit
from aligncheck.panel.small import CHANNEL_MATRIX, SmallView
from aligncheck.panel.tracks import is_drawn_line
from aligncheck.photo import Photo

Floats = NDArray[np.float64]

#: Pieces along a side, places in a piece, and the bands compared, in photo pixels from the side at 4032 px.
PIECES, PER_PIECE = 32, 6
BAND_PX = np.linspace(2.0, 8.0, 5)
#: What a side that is but a drawn line takes from the trust, at least.
LINE = 2.5


class Evidence(NamedTuple):
    """What speaks for a refined outline.

    Attributes
    ----------
    score : float, of the outline in the small view
    contrast : ndarray (4,), median step inside to outside over its scatter along the side
    one_way : ndarray (4,), share of the pieces of a side whose step has the common sign, best channel
    drawing : DrawingSign
    fit : SideFit
    drawn_sides : int, how many sides are but lines drawn on one and the same surface
    ground_mm : tuple, how far outside each side the panel's own ground comes back beyond a line; None where it does not
    """

    score: float
    contrast: Floats
    one_way: Floats
    drawing: DrawingSign
    fit: SideFit
    drawn_sides: int = 0
    ground_mm: tuple[float | None, ...] = (None, None, None, None)

    def total(self, long_side_px: int) -> float:
        """One figure of trust: about 4 and more for right outlines, below 1 for most wrong ones.

        A sum of log-likelihood-like terms, each bounded so that no single one decides.
        """
        residual = float(self.fit.residual_px.max()) * 4032 / long_side_px
        u95 = self.fit.largest_u95_mm
        total = 0.6 * (self.score - 9)
        total += 0.4 * float(np.log(np.clip(self.contrast, 0.2, 5)).sum())
        total += 3 * float(np.clip(self.one_way - 0.75, -0.25, 0.2).sum())
        total -= 1.2 * float(np.clip(np.log(max(residual, 1e-3) / 0.6), 0, 2.5))
        total -= 0.4 * float(np.clip(self.fit.shape_chi2 - 1, 0, 20))
        total += 0.8 * float(np.log(min(float(self.fit.strength.min()), 4) / 2 + 1e-3))
        total -= 0.5 * max(0.0, float(np.log(u95 / 3))) + (1.0 if u95 > 5 else 0.0)
        # One side may look like a line by chance (a bright rim between two dark surfaces), two hardly.
        total -= LINE * max(self.drawn_sides - 1, self.lines - 1, 0)
        return total + self.by_drawing()

    @property
    def lines(self) -> int:
        """How many sides are surely lines drawn on the panel, as far as `ground_mm` was asked for."""
        return sum(ground is not None for ground in self.ground_mm)

    def by_drawing(self) -> float:
        """What the wheel of spokes and rings adds: for one about the middle, against one about another place."""
        if self.drawing.pattern > 0.5:
            return 2.5 * (min(self.drawing.pattern, 0.9) - 0.5) / 0.4 - 0.6 * float(
                np.clip(self.drawing.off_mm - 3.2, 0, 6)
            )
        return -4.0 if self.drawing.elsewhere > 0.55 else 0.0


def evidence_of(
    photo: Photo, view: SmallView, fit: SideFit, width_mm: float, height_mm: float, score: float
) -> Evidence:
    """Measure the evidence for a refined outline, all but `drawn_sides`."""
    panel = fit.panel(width_mm, height_mm)
    contrast, one_way = side_contrast(photo, panel)
    return Evidence(score, contrast, one_way, drawing_sign(view, panel), fit)


def with_drawn_sides(evidence: Evidence, photo: Photo, width_mm: float, height_mm: float) -> Evidence:
    """The evidence with its sides tested for being drawn lines (of a cutting mat, of a border)."""
    panel = evidence.fit.panel(width_mm, height_mm)
    ground = ground_beyond_sides(photo.rgb, panel)
    bands = bands_of(photo.rgb, panel, depth=0.04, outside=24)
    return evidence._replace(drawn_sides=sum(is_drawn_line(band, -0.5, 0.0) for band in bands), ground_mm=ground)


def side_contrast(photo: Photo, panel: Panel) -> tuple[Floats, Floats]:
    """Contrast and share of one sign (4,) of the steps across the panel's sides, in linear light."""
    unit = max(photo.width_px, photo.height_px) / 4032
    t = (np.arange(PIECES * PER_PIECE) + 0.5) / (PIECES * PER_PIECE) * 0.96 + 0.02
    corners = nominal_corners(panel.width_mm, panel.height_mm)
    contrasts, shares = [], []
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        along = panel.to_photo(a + t[:, None] * (b - a))
        tangent = np.gradient(along, axis=0)
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], -1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        inner, outer = (
            _band(photo, along[:, None] + sign * unit * BAND_PX[:, None] * normal[:, None]) for sign in (1, -1)
        )
        step = inner - outer
        middle = medians(step, 0)
        scatter = 1.48 * medians(np.abs(step - middle), 0)
        contrasts.append(np.linalg.norm(middle / np.maximum(scatter, 2e-4)))
        shares.append(float(np.maximum((step > 0).mean(0), (step < 0).mean(0)).max()))
    return np.array(contrasts), np.array(shares)


def _band(photo: Photo, points: Floats) -> Floats:
    """Mean linear-light channels (PIECES, 3) of places (PIECES * PER_PIECE, k, 2)."""
    p = points.astype(np.float32)
    codes = cv2.remap(photo.rgb, p[..., 0], p[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    # A power of 2.2 is near enough to the sRGB curve for a ratio of differences.
    light = (codes.astype(float) / 255) ** 2.2
    return np.asarray(light.mean(1).reshape(PIECES, PER_PIECE, 3).mean(1) @ CHANNEL_MATRIX.T, float)
