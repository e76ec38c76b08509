"""Shift and turn from matched points: sharp across the line between the two cameras, where heights do not matter."""

from dataclasses import dataclass

import numpy as np

from aligncheck.placement.match import Matches
from aligncheck.placement.turns import Floats

#: Fewer matches than this decide nothing; rounds of reweighting; spread of a match that is never undercut, mm.
FEWEST, ROUNDS, LEAST_MM = 12, 10, 0.04
#: Matches are not independent: neighbours share their patch.
SHARED = 4.0


@dataclass(frozen=True)
class Across:
    """What matches add to the motion: shift along the unit vector `normal` (2,), and a turn in radians, with sds."""

    normal: Floats
    shift_mm: float
    shift_sd_mm: float
    turn_rad: float
    turn_sd_rad: float
    count: int


def solve_across(matches: Matches, pivot_mm: Floats, parallax: Floats) -> Across | None:
    """Fit shift and turn to the parts of the displacements that no height can cause.

    Parameters
    ----------
    matches : Matches
    pivot_mm : ndarray (2,)
        What is turned about.
    parallax : ndarray (2,)
        How far a point seems to move per mm of height, between the two cameras; nearly the same all over the piece.
    """
    size = float(np.linalg.norm(parallax))
    if len(matches.at_mm) < FEWEST:
        return None
    lever = matches.at_mm - pivot_mm
    if size < 0.02:
        # The cameras stood at one place: all of the displacement counts.
        rows = [(np.array(n), lever) for n in ((1.0, 0.0), (0.0, 1.0))]
    else:
        along = parallax / size
        rows = [(np.array([-along[1], along[0]]), lever)]
    normal = rows[0][0]
    spin = -normal[0] * lever[:, 1] + normal[1] * lever[:, 0]
    value = matches.apart_mm @ normal
    design = np.column_stack([np.ones(len(value)), spin])
    weight = np.ones(len(value))
    solved, spread = np.zeros(2), 1.0
    for _ in range(ROUNDS):
        normal_matrix = design.T @ (design * weight[:, None])
        solved = np.linalg.solve(normal_matrix + 1e-9 * np.eye(2), design.T @ (weight * value))
        rest = np.abs(value - design @ solved)
        spread = max(1.4826 * float(np.median(rest)), LEAST_MM)
        weight = 1 / (1 + (rest / (2 * spread)) ** 2) ** 2
    count = int((rest < 3 * spread).sum())
    if count < FEWEST:
        return None
    covariance = np.linalg.inv(normal_matrix) * spread**2 * SHARED
    sd = np.sqrt(np.diag(covariance))
    return Across(normal, float(solved[0]), float(sd[0]), float(solved[1]), float(sd[1]), count)
