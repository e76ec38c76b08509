"""How a smooth displacement of the panel's points moves what is drawn on it: a few points of each mark tell."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.marks.marks import Line, Ring

Floats = NDArray[np.float64]

#: Points along a stroke and round a ring at which the displacement is taken. It is smooth: a handful would do.
ALONG, AROUND = 5, 24


def along(line: Line) -> Floats:
    """Points (ALONG, 2) from the inner to the outer end."""
    return np.asarray(line.inner_mm + np.linspace(0.0, 1.0, ALONG)[:, None] * (line.outer_mm - line.inner_mm), float)


def around(ring: Ring) -> Floats:
    """Points (AROUND, 2) round the ring, clockwise from the top."""
    return np.asarray(ring.centre_mm + ring.radius_mm * outward(np.arange(AROUND) * 360.0 / AROUND), float)


def ends_by(line: Line, moved: Floats) -> Floats:
    """How far the inner and the outer end of a stroke move, (2, 2, ...), where its points move by (ALONG, 2, ...).

    Across, as the line fitted through the moved points; along, as the ends themselves.
    """
    t = np.linspace(0.0, 1.0, ALONG)
    across, ahead = line.across, outward(line.angle_deg)
    fitted = np.linalg.lstsq(np.column_stack([1 - t, t]), np.einsum("i,ti...->t...", across, moved), rcond=None)[0]
    way = np.einsum("i,ti...->t...", ahead, moved[[0, -1]])
    return np.asarray(np.einsum("i,t...->ti...", across, fitted) + np.einsum("i,t...->ti...", ahead, way), float)


def circle_by(moved: Floats) -> Floats:
    """How a ring changes, (5, ...), where its points move by (AROUND, 2, ...): radius, x, y of the least-squares
    circle, and the cosine and sine of twice the bearing that make an oval."""
    bearings = np.arange(AROUND) * 360.0 / AROUND
    out, twice = outward(bearings), 2 * np.radians(bearings)
    design = np.column_stack([np.ones(AROUND), out, np.cos(twice), np.sin(twice)])
    return np.asarray(np.linalg.lstsq(design, np.einsum("ti,ti...->t...", out, moved), rcond=None)[0], float)
