"""Lay the flat view of one stage onto that of another: the panel's corners, sharpened by marks that both show.

Two photos of one panel differ by what each got wrong about the panel's corners. The marks lie where they lie, so marks
that both stages show tell that difference: corners of one stage are shifted until its marks fall on the other's, held
by how well each photo knew its corners. A spoke that was drawn anew in between stands out and counts less.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aligncheck.film.common import Common, common_marks
from aligncheck.geometry.projective import apply_homography, homography_from_corners
from aligncheck.panel.panel import nominal_corners

Floats = NDArray[np.float64]

#: The radius that holds 95 % of a two-dimensional normal error is 2.448 of its standard deviations.
DISC_95 = 2.448
#: How closely a mark is measured against the same mark in another photo, mm: between the chalk's grain, which both
#: photos share, and a brush line or a half-covered ring. Only its size against the corners' matters, and that weakly.
MARK_SD_MM = 0.06
#: No photo knows its corners better than this, mm.
LEAST_CORNER_SD_MM = 0.02
#: Residuals beyond so many robust standard deviations count less and less (Huber).
HUBER, ROUNDS = 2.0, 8
#: Squares of residuals are cut here when turns are compared: one odd spoke must not decide.
CUT = 25.0
#: A turn is sure if the next best fits this much worse.
SURE = 2.0
STEP_MM = 0.01


@dataclass(frozen=True)
class Registration:
    """How a stage lies on the one that others are laid onto.

    Attributes
    ----------
    matrix : ndarray (3, 3)
        From the stage's panel mm to the other's.
    quarters : int
        Quarter turns clockwise that the stage's panel needs.
    marks : int
        How many marks took part; 0: by the corners alone.
    rms_mm : float or None
        How closely those marks agree.
    sure : bool
        Whether the marks leave no doubt about the quarter turn.
    """

    matrix: Floats
    quarters: int
    marks: int
    rms_mm: float | None
    sure: bool


def register(stage: Mapping[str, Any], onto: Mapping[str, Any], likely_quarters: int = 0) -> Registration:
    """Register two result files of one panel.

    Parameters
    ----------
    stage, onto : mapping
        As `aligncheck.as_result` gives them.
    likely_quarters : int
        The turn that is taken where marks do not tell, as another witness (the pictures) has it.
    """
    tries = {q: _fit(stage, onto, q) for q in range(4) if _fits(stage, onto, q)}
    if not tries:
        tries = {0: _fit(stage, onto, 0)}
    costs = {q: cost for q, (_, cost) in tries.items()}
    best = min(costs, key=lambda q: (costs[q], q != likely_quarters))
    rivals = [q for q in costs if q != best and costs[q] < max(SURE * costs[best], SURE)]
    if rivals and likely_quarters in rivals:
        best = likely_quarters
    found = tries[best][0]
    return Registration(found.matrix, best, found.marks, found.rms_mm, sure=not rivals and found.marks > 0)


def quarter_turn(quarters: int) -> Floats:
    """Matrix (2, 2) that turns points clockwise (x right, y down) by quarter turns: exact."""
    return np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), quarters % 4).astype(float)


def _fits(stage: Mapping[str, Any], onto: Mapping[str, Any], quarters: int) -> bool:
    """Whether the panel's sides are as long after the turn."""
    sides = [stage["panel"][k] for k in ("width_mm", "height_mm")]
    wanted = [onto["panel"][k] for k in ("width_mm", "height_mm")]
    return bool(np.allclose(sides if quarters % 2 == 0 else sides[::-1], wanted, rtol=0.01))


def _fit(stage: Mapping[str, Any], onto: Mapping[str, Any], quarters: int) -> tuple[Registration, float]:
    """The best map for one quarter turn, and how badly marks still disagree (mean cut square)."""
    turn = quarter_turn(quarters)
    start = nominal_corners(stage["panel"]["width_mm"], stage["panel"]["height_mm"]) @ turn.T
    common = common_marks(stage, onto, turn)
    shift = np.zeros(8)
    rest = np.zeros(0)
    if len(common.offset):
        shift, rest = _corner_shifts(common, start, _corner_sd(stage, onto, quarters))
    matrix = homography_from_corners(start, start + shift.reshape(4, 2))
    whole = np.eye(3)
    whole[:2, :2] = turn
    cost = float(np.minimum((rest / MARK_SD_MM) ** 2, CUT).mean()) if len(rest) else CUT
    good = rest[np.abs(rest) < 3 * max(_spread(rest), MARK_SD_MM)] if len(rest) else rest
    rms = float(np.sqrt((good**2).mean())) if len(good) else None
    return Registration(matrix @ whole, quarters, common.marks, rms, sure=False), cost


def _corner_sd(stage: Mapping[str, Any], onto: Mapping[str, Any], quarters: int) -> Floats:
    """Standard deviations (8,) of the differences of corners' coordinates, in the order of the stage's corners."""

    def known(values: list[float | None], roll: int) -> Floats:
        u95 = np.array([np.nan if v is None else v for v in values], float)
        return np.roll(np.where(np.isfinite(u95), u95, 1.0), roll)

    # The stage's top left corner lies, after a quarter turn clockwise, at the other's top right.
    own, other = known(stage["panel"]["corner_u95_mm"], 0), known(onto["panel"]["corner_u95_mm"], -quarters)
    return np.repeat(np.maximum(np.hypot(own, other) / DISC_95, LEAST_CORNER_SD_MM), 2)


def _corner_shifts(common: Common, corners: Floats, corner_sd: Floats) -> tuple[Floats, Floats]:
    """Shifts (8,) of the stage's corners, robustly, and what is left of each offset."""
    by_corner = np.empty((len(common.offset), 8))
    for k in range(8):
        moved = corners.copy()
        moved[k // 2, k % 2] += STEP_MM
        step = apply_homography(homography_from_corners(corners, moved), common.at) - common.at
        by_corner[:, k] = (step * common.normal).sum(axis=1) / STEP_MM
    prior = np.diag(1 / corner_sd**2)
    weights = common.weight.copy()
    shift = np.zeros(8)
    for _ in range(ROUNDS):
        scaled = by_corner * (weights / MARK_SD_MM**2)[:, None]
        shift = np.asarray(np.linalg.solve(scaled.T @ by_corner + prior, scaled.T @ common.offset), np.float64)
        rest = common.offset - by_corner @ shift
        limit = HUBER * max(_spread(rest), MARK_SD_MM)
        weights = common.weight * np.minimum(1.0, limit / np.maximum(np.abs(rest), 1e-9)) ** 2
    return shift, common.offset - by_corner @ shift


def _spread(rest: Floats) -> float:
    """Robust standard deviation about zero."""
    return 1.4826 * float(np.median(np.abs(rest)))
