"""How far each view's sheet curls, found together with the lens.

A sheet that rises by a millimetre towards its ends moves the focal length by half a percent and more, in all photos the
same way: only the shape of what a flat board leaves unexplained tells it. The spread of the curls is learned from all
views together, so that flat sheets cost nothing.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.lens.corners import CURLS, Corners
from aligncheck.lens.solve import TERM_NAMES, Solution, by_curls, project

Floats = NDArray[np.float64]

#: Spread to start from, squares: some millimetres; rounds of learning it.
START, ROUNDS = 0.1, 30


class _View(NamedTuple):
    """Normal equations of one view, over lens, place (6) and curls, in units of the noise, and the curls so far."""

    normal: Floats
    right: Floats
    curls: Floats


def uncurl(views: Sequence[Corners], solution: Solution) -> list[Corners]:
    """The views with the curls that explain what `solution` leaves (one step of Gauss and Newton)."""
    columns = [TERM_NAMES.index(n) for n in solution.free]
    lens = len(columns)
    parts, left, freedom = [], 0.0, -lens
    places = zip(views, solution.rotations, solution.shifts, solution.residuals, strict=True)
    for view, turn, shift, residual in places:
        _, terms, place = project(view.solid, turn, shift, solution.values)
        design = np.column_stack([terms[:, columns], place, by_curls(view, turn, shift, solution.values)])
        own, rest = design[:, lens:], residual.ravel()
        left += float(np.square(rest - own @ np.linalg.lstsq(own, rest, rcond=None)[0]).sum())
        freedom += len(rest) - own.shape[1]
        parts.append(_View(design.T @ design, design.T @ rest, view.curls))
    noise = max(left / max(freedom, 1), 1e-12)
    parts = [_View(p.normal / noise, p.right / noise, p.curls) for p in parts]
    spread = START
    for _ in range(ROUNDS):
        curls, variances = _curls(parts, lens, spread)
        spread = float(np.sqrt((curls**2 + variances).mean()))
    return [replace(v, curls=c, curl_sd=spread) for v, c in zip(views, curls, strict=True)]


def _curls(parts: Sequence[_View], lens: int, spread: float) -> tuple[Floats, Floats]:
    """Each view's curls (views, 7) and their variances, lens and places found together with them."""
    normal, right = np.zeros((lens, lens)), np.zeros(lens)
    solved = []
    for part in parts:
        inner, cross, target = part.normal[lens:, lens:].copy(), part.normal[lens:, :lens], part.right[lens:].copy()
        inner[range(6, 6 + CURLS), range(6, 6 + CURLS)] += 1 / spread**2
        # The whole curl is held to the spread, not this step of it.
        target[6:] -= part.curls / spread**2
        inverse = np.linalg.inv(inner)
        normal += part.normal[:lens, :lens] - cross.T @ inverse @ cross
        right += part.right[:lens] - cross.T @ inverse @ target
        solved.append((inverse, inverse @ cross, inverse @ target))
    covariance = np.linalg.inv(normal)
    step = covariance @ right
    curls = [p.curls + (alone - by_lens @ step)[6:] for p, (_, by_lens, alone) in zip(parts, solved, strict=True)]
    variances = [np.diag(inverse + by_lens @ covariance @ by_lens.T)[6:] for inverse, by_lens, _ in solved]
    return np.array(curls), np.array(variances)
