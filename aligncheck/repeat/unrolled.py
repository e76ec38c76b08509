"""The segments laid beside each other: what the photo shows round the centre, radius by radius."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.ground import fit_ground
from aligncheck.panel import Panel
from aligncheck.rows.view import ColourView

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Steps outward and round, mm, and where the picture begins.
STEP_MM, INNERMOST_MM = 1.0, 5.0
#: So many columns a segment at the least and the most.
COLUMNS = (8, 720)
#: From this share of full white in a channel's cube root on a pixel may be blown out.
BLOWN = 0.985
#: What lies on the panel is left out with so much around it for its shadow, mm.
AROUND_PIECE_MM = 3.0


@dataclass(frozen=True)
class Unrolled:
    """Segments as the photo shows them.

    Attributes
    ----------
    linear, bare : ndarray (radii, segments, columns, 3)
        Linear light that was seen, and that of the bare panel at the same places.
    xy_mm : ndarray (radii, segments, columns, 2)
        Where that is, in the panel frame.
    blown, covered : ndarray (radii, segments, columns) of bool
        Where the photo is white, and where a piece lies on the panel.
    """

    linear: Singles
    bare: Singles
    xy_mm: Floats
    blown: Mask
    covered: Mask

    @property
    def shown(self) -> Mask:
        """Where the painting is seen."""
        return ~self.blown & ~self.covered

    @property
    def radii_mm(self) -> Floats:
        """Radius of every row."""
        return np.asarray(INNERMOST_MM + STEP_MM * np.arange(len(self.linear)), float)

    @property
    def columns_deg(self) -> float:
        """Degrees between columns."""
        return 360.0 / (self.linear.shape[1] * self.linear.shape[2])


def unroll(
    view: ColourView,
    panel: Panel,
    centre_mm: Floats,
    order: int,
    outermost_mm: float,
    pieces: Sequence[Floats] = (),
) -> Unrolled:
    """Look round the centre; `pieces` are outlines (n, 2) of what lies on the panel."""
    radii = np.arange(INNERMOST_MM, outermost_mm, STEP_MM)
    columns = int(np.clip(np.ceil(2 * np.pi * outermost_mm / order / STEP_MM), *COLUMNS))
    angles = (np.arange(order * columns) + 0.5) * (2 * np.pi / (order * columns))
    points = radii[:, None, None] * np.stack([np.sin(angles), -np.cos(angles)], -1) + centre_mm
    place = (points * view.px_per_mm + view.origin_px).astype(np.float32)
    soft = cv2.GaussianBlur(view.colours, (0, 0), 0.5 * view.px_per_mm)
    seen = cv2.remap(soft, place[..., 0], place[..., 1], cv2.INTER_LINEAR)
    ground = fit_ground(view.colours, view.px_per_mm, (panel.width_mm / 2, panel.height_mm / 2))
    bare = np.maximum(ground.at(points), 0.03).astype(np.float32)
    shape = (len(radii), order, columns)
    return Unrolled(
        np.asarray(seen.reshape(*shape, 3) ** 3, np.float32),
        np.asarray(bare.reshape(*shape, 3) ** 3, np.float32),
        points.reshape(*shape, 2),
        (seen.max(-1) > BLOWN).reshape(shape),
        _covered(view, place, pieces).reshape(shape),
    )


def _covered(view: ColourView, place: Singles, pieces: Sequence[Floats]) -> Mask:
    """Which places (...) of the view lie under a piece or its shadow."""
    mask = np.zeros(view.shape, np.uint8)
    around = 2 * round(AROUND_PIECE_MM * view.px_per_mm)
    for outline in pieces:
        corners = np.round(outline * view.px_per_mm + view.origin_px).astype(np.int32)
        cv2.fillPoly(mask, [corners], 1)
        cv2.polylines(mask, [corners], True, 1, max(1, around))
    x, y = (np.clip(np.rint(place[..., k]).astype(int), 0, view.shape[1 - k] - 1) for k in (0, 1))
    return np.asarray(mask[y, x] > 0, bool)
