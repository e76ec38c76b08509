"""How sure a dot's place and size are: the pixels of its rim, what light and paint do to it, and the panel's map."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.dots.dots import Dots
from aligncheck.dots.measured import Measured
from aligncheck.geometry.uncertainty import NORMAL_95, u95_points
from aligncheck.panel import Panel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Lens, sensor and resampling blur a rim over a pixel of the view and more, and where in it the paint ends depends on
#: light, shade and shadow: each half of a rim is known to this part of a pixel (standard deviation), alike in all dots.
#: A judgement between too wide and too narrow on our own drawn and path-traced pieces.
RIM_PX = 0.3
#: A dome's side turns away, its foot lies in shadow: the same for a larger dot as a share of its diameter.
SIDE_SHARE = 0.018
#: Where the rim does not show and a dome is told by its light and shade alone, size and place are known to these shares
#: of the diameter: its foot lies in its own shade, and such domes read up to an eighth too small.
LIGHT_SIZE, LIGHT_PLACE = 0.1, 0.04


def diameter_u95(circles: Measured, px_per_mm: float, by_light: Bools | bool = False) -> Floats:
    """Half-widths (n,) of the diameters' 95 % intervals; the map's scale adds nothing to speak of."""
    share = np.where(by_light, LIGHT_SIZE, SIDE_SHARE)
    common = np.hypot(2 * RIM_PX / px_per_mm, share * 2 * circles.radius_mm)
    return np.asarray(NORMAL_95 * np.hypot(2 * circles.radius_sd_mm, common), float)


def place_u95(circles: Measured, px_per_mm: float, by_light: Bools | bool = False) -> Floats:
    """Radii (n,) of the discs that hold the middles with 95 %, but for what the panel's map adds."""
    # Of a circle fitted to its rim the middle varies twice as much as the radius, each way.
    own = 2 * circles.radius_sd_mm**2 + (RIM_PX / px_per_mm) ** 2
    own = own + (np.where(by_light, LIGHT_PLACE, 0.0) * 2 * circles.radius_mm) ** 2
    return u95_points(own[:, None, None] * np.eye(2))


def on_the_panel(dots: Dots, panel: Panel) -> Dots:
    """The dots with what the panel's map leaves open of their places added to their intervals."""
    if not dots.dots:
        return dots
    own = np.array([dot.centre_u95_mm for dot in dots.dots])
    # A disc that holds 95 % of an even spread has a radius of sqrt(-2 ln 0.05) standard deviations.
    variance = own**2 / (-2 * np.log(0.05))
    field = panel.field(np.array([dot.centre_mm for dot in dots.dots]))
    whole = field @ panel.covariance @ field.transpose(0, 2, 1) + variance[:, None, None] * np.eye(2)
    u95 = u95_points(whole)
    return replace(dots, dots=tuple(replace(d, centre_u95_mm=float(u)) for d, u in zip(dots.dots, u95, strict=True)))
