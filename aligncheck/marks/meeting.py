"""The point that the spokes pass nearest to."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.student import widening
from aligncheck.marks.marks import Centre, Line

Floats = NDArray[np.float64]

#: Two lines that meet at less than this angle say nothing about where along them they meet.
LEAST_SPREAD = 0.02


def spokes_meet(lines: Sequence[Line]) -> tuple[Centre, Floats] | None:
    """Least squares over the lines: the meeting point, and the scatter-based covariance.

    Returns
    -------
    (Centre, ndarray (2, 2)) or None
        The point with what the lines' own errors give it; and the covariance in mm^2 with which it stands for the
        centre that a hand aimed at, from how far the lines pass it. None where the lines do not fix a point.
    """
    if len(lines) < 2:
        return None
    normals = np.array([line.across for line in lines])
    matrix = normals.T @ normals
    if np.linalg.eigvalsh(matrix)[0] < LEAST_SPREAD * len(lines):
        return None
    inverse = np.asarray(np.linalg.inv(matrix), float)
    feet = np.array([line.inner_mm for line in lines])
    point = inverse @ (normals * (feet * normals).sum(1, keepdims=True)).sum(0)
    own = np.array([_variance_at(line, point) for line in lines])
    spread = inverse @ (normals.T * own) @ normals @ inverse
    misses = ((feet - point) * normals).sum(1)
    freedom = len(lines) - 2
    if freedom < 1:
        # Two lines always meet; a hand's spoke passes its centre by some tenths of a millimetre.
        return Centre(point, spread, "spokes"), spread + inverse * 0.5**2
    # Student's t, expressed as the normal deviate that covers the same 95 %.
    return Centre(point, spread, "spokes"), inverse * float((misses**2).sum() / freedom) * widening(freedom) ** 2


def _variance_at(line: Line, point: Floats) -> float:
    """Of the line's offset across, beside `point`."""
    span = line.outer_mm - line.inner_mm
    share = float((point - line.inner_mm) @ span / (span @ span))
    at = np.array([1 - share, share])
    return float(at @ line.across_covariance @ at)


def crossing(first: Line, second: Line) -> tuple[Floats, Floats]:
    """Where two lines cross (2,), and its covariance (2, 2) from theirs."""
    normals = np.array([first.across, second.across])
    feet = np.array([first.inner_mm @ normals[0], second.inner_mm @ normals[1]])
    inverse = np.asarray(np.linalg.inv(normals), float)
    point = inverse @ feet
    variances = np.diag([_variance_at(first, point), _variance_at(second, point)])
    return point, inverse @ variances @ inverse.T
