"""Which lens terms the boards support: models from plain to rich, compared by Schwarz's criterion.

Each model's cost is its misfit in units of the noise plus log(n) for every term (Schwarz, Annals of Statistics 6 (1978)
461), so that a term must explain more than chance would. The lens itself has all five numbers, held to what lenses are
like: a term that the boards do not support then stays near that, and is known as well as they tell it. Left out, it
would be known no better than beforehand, and the others would be wrong by more than they claim.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.lens.corners import Corners
from aligncheck.lens.solve import TERM_NAMES, Solution, solve
from aligncheck.lens.straight import Joined, join

Floats = NDArray[np.float64]

#: Models that a profile can hold, from plain to rich. "cx" stands for the principal point.
PLAIN: tuple[tuple[str, ...], ...] = (
    ("focal",),
    ("focal", "k1"),
    ("focal", "k1", "k2"),
    ("focal", "cx", "k1"),
    ("focal", "cx", "k1", "k2"),
)
FULL = PLAIN[-1]
#: Richer ones: tried to see whether the five numbers leave anything out.
RICHER: tuple[tuple[str, ...], ...] = ((*FULL, "p1"), (*FULL, "k3"))
#: What phone and camera lenses do, as standard deviations: principal point as a share of
#: the long side, k1, k2. Corrected phone pictures keep a few per cent; uncorrected wide lenses reach -0.3.
PRIOR_CENTRE, PRIOR_K1, PRIOR_K2 = 0.01, 0.1, 0.05


@dataclass(frozen=True)
class Model:
    """One model's fit: its `terms`, `cost` (smaller is better), OpenCV's solution, and the lens with sides joined."""

    terms: tuple[str, ...]
    cost: float
    solution: Solution
    joined: Joined


@dataclass(frozen=True)
class Comparison:
    """All models that were tried, the best of the plain ones, the lens, and what the richer models would change.

    `lens` holds the five numbers, all of them free, joined with what lenses are like.
    `left_out_px`: rms change of the corners' predicted places by the best richer model, 0 where none is supported.
    """

    models: tuple[Model, ...]
    best: Model
    full: Solution
    lens: Joined
    left_out_px: float


def compare_models(
    views: Sequence[Corners], sides: Sequence[Floats], size_px: tuple[int, int], focal_px: float | None = None
) -> Comparison:
    """Fit every model to `views` and `sides` and choose."""
    full = solve(views, size_px, FULL, focal_px)
    bow = join(full.unstretched[:5], _columns(full), full.information, sides).bow_px
    noise = _variance(full)
    corners = 2 * sum(len(v.pixels) for v in views)
    models = []
    for terms in (*PLAIN, *RICHER):
        solution = full if terms == FULL else solve(views, size_px, terms, focal_px or full.values[0])
        # All models are judged by the same noise, that of the full one.
        information = solution.information * (_variance(solution) / noise)
        columns = _columns(solution)
        if terms not in PLAIN:
            information = np.linalg.inv(np.linalg.inv(information)[: len(columns), : len(columns)])
        joined = join(solution.unstretched[:5], columns, information, sides if terms in PLAIN else [], bow)
        misfit = sum(float((r * r).sum()) for r in solution.residuals) / noise + joined.chi2
        number = corners + 2 * len(sides)
        models.append(Model(terms, misfit + len(solution.free) * float(np.log(number)), solution, joined))
    best = min(models[: len(PLAIN)], key=lambda m: m.cost)
    lens = join(*_with_prior(full, size_px), sides, bow)
    return Comparison(tuple(models), best, full, lens, _left_out(models))


def _with_prior(full: Solution, size_px: tuple[int, int]) -> tuple[Floats, list[int], Floats]:
    """The five numbers, which of them are free (all) and their information, joined with what lenses are like."""
    centre = PRIOR_CENTRE * max(size_px)
    usual = np.array([0.0, (size_px[0] - 1) / 2, (size_px[1] - 1) / 2, 0.0, 0.0])
    prior = np.diag([0.0, centre**-2, centre**-2, PRIOR_K1**-2, PRIOR_K2**-2])
    boards = full.unstretched[:5]
    information = full.information + prior
    return boards + np.linalg.solve(information, prior @ (usual - boards)), _columns(full), information


def _variance(solution: Solution) -> float:
    square = sum(float((r * r).sum()) for r in solution.residuals)
    freedom = sum(r.size for r in solution.residuals) - 6 * len(solution.residuals) - len(solution.free)
    return max(square / max(freedom, 1), 1e-12)


def _columns(solution: Solution) -> list[int]:
    """Which of focal, cx, cy, k1, k2 are free."""
    return [TERM_NAMES.index(n) for n in solution.free if TERM_NAMES.index(n) < 5]


def _left_out(models: Sequence[Model]) -> float:
    """Rms px by which the best richer model moves the corners, if it is better than the full plain one."""
    full = next(m for m in models if m.terms == FULL)
    # Sides were joined to plain models only: compare what the boards alone cost.
    plain_cost = full.cost - full.joined.chi2
    richer = min((m for m in models if m.terms not in PLAIN), key=lambda m: m.cost)
    if richer.cost >= plain_cost:
        return 0.0
    moved = [a - b for a, b in zip(full.solution.residuals, richer.solution.residuals, strict=True)]
    return float(np.sqrt((np.concatenate(moved) ** 2).sum(1).mean()))
