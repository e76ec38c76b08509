"""What the known lines look like, so that their grains and crossings are not taken for dots."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.view import DotView
from aligncheck.marks import Marks

Floats = NDArray[np.float64]

#: The strongest part of the pixels along the lines is chalk; the rest is grain's gaps and bare panel.
CHALK_SHARE = 0.4
#: So far beside a line the panel is bare, mm, unless it is painted over; this share of the points is taken for bare.
BESIDE_MM, BARE_SHARE = 1.4, 0.3
#: Chalk is laid on thicker than usual by this much at most.
THICKEST = 1.3
#: Points along a line.
POINTS = 200


@dataclass(frozen=True)
class Chalk:
    """Known lines.

    Attributes
    ----------
    colour : ndarray (3,)
        Of chalk, less the bare panel's, in units of its noise.
    inner_mm, outer_mm : ndarray (spokes, 2)
        Ends from the centre that the design turns about.
    rings : ndarray (rings, 3)
        Middle x, y from that centre, and radius.
    width_mm : float
        Of the lines, median; 0 where none is known.
    """

    colour: Floats
    inner_mm: Floats
    outer_mm: Floats
    rings: Floats
    width_mm: float = 0.0

    def distance_mm(self, xy: Floats) -> Floats:
        """From points (n, 2) to the nearest line's middle."""
        along = self.outer_mm - self.inner_mm
        length = np.maximum(np.hypot(*along.T), 1e-9)
        arm = xy[:, None] - self.inner_mm
        at = np.clip(np.einsum("nsi,si->ns", arm, along) / length**2, 0, 1)
        to_spokes = np.hypot(*np.moveaxis(arm - at[..., None] * along, -1, 0))
        to_rings = np.abs(np.hypot(*np.moveaxis(xy[:, None] - self.rings[:, :2], -1, 0)) - self.rings[:, 2])
        return np.asarray(np.concatenate([to_spokes, to_rings], axis=1).min(1, initial=np.inf), float)

    def unlike(self, colour: Floats) -> Floats:
        """Distance of colours (n, 3) from chalk, thin to thick, as a share of their own strength."""
        thickness = np.clip(colour @ self.colour / max(float(self.colour @ self.colour), 1e-9), 0, THICKEST)
        rest = np.linalg.norm(colour - thickness[:, None] * self.colour, axis=1)
        return np.asarray(rest / np.maximum(np.linalg.norm(colour, axis=1), 1e-9), float)


def chalk_of(view: DotView, marks: Marks, centre: Floats) -> Chalk:
    """Look along the marks, where they lie on bare panel."""
    inner = np.array([s.inner_mm for s in marks.spokes], float).reshape(-1, 2)
    outer = np.array([s.outer_mm for s in marks.spokes], float).reshape(-1, 2)
    rings = np.array([[*(r.centre_mm - centre), r.radius_mm] for r in marks.rings], float).reshape(-1, 3)
    along = outer - inner
    share = np.linspace(0.05, 0.95, POINTS)[:, None, None]
    angle = np.arange(POINTS)[:, None] * (2 * np.pi / POINTS)
    out = np.stack([np.sin(angle), -np.cos(angle)], -1)
    middle = np.concatenate([inner + share * along, centre + rings[:, :2] + rings[:, 2:] * out], axis=1)
    across = along[:, ::-1] * (-1, 1) / np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    across = np.concatenate([np.tile(across, (POINTS, 1, 1)), np.tile(out, (1, len(rings), 1))], axis=1)
    colour = np.zeros(3)
    if middle.size:
        beside = [
            np.linalg.norm(_seen(view.unlike, view, middle + side * BESIDE_MM * across), axis=1) for side in (-1, 1)
        ]
        # Paint over a line lies beside it too.
        bare = np.maximum(*beside) <= np.quantile(np.maximum(*beside), BARE_SHARE)
        places = middle.reshape(-1, 2)[bare]
        # What the ground's own colour adds is no chalk; where most is added there is most of it.
        strength = np.linalg.norm(_seen(view.unlike, view, places), axis=1)
        seen = _seen(view.unlike_the_panel, view, places)
        colour = np.median(seen[strength >= np.quantile(strength, 1 - CHALK_SHARE)], axis=0)
    drawn = [s.width_mm for s in marks.spokes] + [r.width_mm for r in marks.rings]
    widths = [w for w in drawn if w > 0]
    return Chalk(colour, inner - centre, outer - centre, rings, float(np.median(widths)) if widths else 0.0)


def _seen(unlike: NDArray[np.float32], view: DotView, points: Floats) -> Floats:
    """Colours (n, 3) of a picture at points (..., 2) of the panel, in units of its noise."""
    x, y = (np.ascontiguousarray(p, np.float32)[None] for p in view.to_view(points.reshape(-1, 2)).T)
    return np.asarray(cv2.remap(unlike, x, y, cv2.INTER_LINEAR), float)[0]
