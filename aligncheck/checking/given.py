"""What is given beside a photo, as the stages take it; slips are refused before any work."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from aligncheck.errors import InputError
from aligncheck.layout import Layout, read_layout
from aligncheck.layout.read import SEGMENTS_RANGE
from aligncheck.photo import Photo
from aligncheck.units import check_size, parse_size

#: A photo in memory, or the path of one.
AnyPhoto = str | Path | Photo
#: ``"12x12in"``, or (width, height) in mm.
Size = str | tuple[float, float]
#: A layout, or the path of a layout file.
AnyLayout = Layout | str | Path


def size_mm(panel: Size) -> tuple[float, float]:
    """Width and height of the panel, mm."""
    return parse_size(panel) if isinstance(panel, str) else check_size(*panel)


def ideal_layout(layout: AnyLayout | None, segments: int | None, tolerance_mm: float | None) -> Layout:
    """The layout with what was given beside it."""
    ideal = layout if isinstance(layout, Layout) else read_layout(layout) if layout else Layout()
    if segments is not None:
        if not SEGMENTS_RANGE[0] <= segments <= SEGMENTS_RANGE[1]:
            raise InputError("bad_segments", text=segments)
        ideal = replace(ideal, segments=segments)
    if tolerance_mm is not None:
        if not 0 < tolerance_mm < np.inf:
            raise InputError("bad_tolerance", text=tolerance_mm)
        ideal = replace(ideal, tolerance_mm=tolerance_mm)
    return ideal


def four_corners(points: Sequence[tuple[float, float]] | None, photo: Photo) -> np.ndarray | None:
    """Four corners by hand as an array (4, 2), all inside the photo."""
    if points is None:
        return None
    corners = np.asarray(points, float)
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise InputError("bad_corner", text=points)
    size = (photo.width_px, photo.height_px)
    for x, y in corners:
        if not (-0.5 <= x <= size[0] - 0.5 and -0.5 <= y <= size[1] - 0.5):
            raise InputError("corners_outside", text=f"{x:g},{y:g}", width=size[0], height=size[1])
    return corners
