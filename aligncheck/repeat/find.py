"""The front of this package: what repeats on the panel, and how well."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.panel import Panel
from aligncheck.photo import Photo
from aligncheck.repeat.centre import TurningCentre, find_turning_centre
from aligncheck.repeat.repeat import Repeat
from aligncheck.repeat.turning import LEAST_LIKENESS, around, banded, turning
from aligncheck.rows.view import ColourView, colour_view

Floats = NDArray[np.float64]

#: Longer side of the view, pixels: a small dot on a 30 cm panel is then four across.
SIDE_PX = 700
#: From the panel's side, mm: there its edge is seen too.
EDGE_MM = 4.0
#: Likeness from which on a panel without any mark may be said to turn about a point. The point was chosen for its
#: likeness, so more is asked than of a given one.
LEAST_UNMARKED = 0.25


def find_repeat(photo: Photo, panel: Panel, centre_mm: Floats) -> Repeat:
    """Find how often the pattern about `centre_mm` (2,) repeats."""
    return _repeat_of(colour_view(photo.rgb, panel, SIDE_PX), panel, centre_mm)


def find_unmarked(photo: Photo, panel: Panel) -> tuple[TurningCentre, Repeat] | None:
    """Find the centre of a pattern that no mark tells, and how often it repeats; None where nothing repeats."""
    view = colour_view(photo.rgb, panel, SIDE_PX)
    centre = find_turning_centre(view)
    if centre is None:
        return None
    repeat = _repeat_of(view, panel, centre.xy_mm)
    return (centre, repeat) if repeat.order is not None and repeat.likeness > LEAST_UNMARKED else None


def _repeat_of(view: ColourView, panel: Panel, centre_mm: Floats) -> Repeat:
    outermost = min(panel.width_mm / 2 - abs(centre_mm[0]), panel.height_mm / 2 - abs(centre_mm[1])) - EDGE_MM
    if outermost < 20:
        return Repeat(None, 0.0)
    found = turning(*around(banded(view), view, centre_mm, outermost))
    return Repeat(found.order if found.likeness > LEAST_LIKENESS else None, found.likeness)
