"""Panels as the tool believes that panels are made: how square, how straight, how rounded."""

from dataclasses import replace

import numpy as np

from aligncheck.panel.cut_off import crossings
from aligncheck.panel.kind import DEEP_MM, DEEP_SHARE, makes_of
from aligncheck.panel.panel import nominal_corners
from aligncheck.panel.rounded import DEEP_RADIUS_MM, THIN_RADIUS_MM
from aligncheck.panel.square import out_of_square
from tests.render import Panel

#: Thickness of boards and of canvases, mm.
BOARDS_MM, CANVASES_MM = (3.0, 3.0, 4.0), (18.0, 18.0, 38.0)
#: No edge is sharper than this, mm.
SHARPEST_MM = 0.02


def usual_depth_mm(rng: np.random.Generator) -> float:
    """The thickness of some panel, mm."""
    return float(rng.choice(CANVASES_MM if rng.random() < DEEP_SHARE else BOARDS_MM))


def as_made(panel: Panel, rng: np.random.Generator) -> Panel:
    """A panel of the same size, thickness and paint, made as one of its kind."""
    makes = makes_of(panel.depth_mm)
    make = makes[int(rng.choice(len(makes), p=[m.share for m in makes]))]
    spread = out_of_square(panel.width_mm, panel.height_mm, make.out_of_square_mm)
    shift = rng.multivariate_normal(np.zeros(8), spread, method="eigh").reshape(4, 2)
    # The spread lets the diagonals cross some micrometres off the origin, where the frame has it.
    shift -= crossings((nominal_corners(panel.width_mm, panel.height_mm) + shift)[None])[0]
    bow = make.bow
    outwards = rng.normal(-bow.inward_mm, bow.common_mm) + rng.normal(0, bow.own_mm, 4)
    radius = rng.normal(*(DEEP_RADIUS_MM if panel.depth_mm >= DEEP_MM else THIN_RADIUS_MM))
    return replace(
        panel,
        corner_shift_mm=tuple((float(x), float(y)) for x, y in shift),
        side_bow_mm=tuple(outwards.tolist()),
        edge_round_mm=max(float(radius), SHARPEST_MM),
    )
