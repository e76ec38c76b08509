"""Strokes that overlap: the picture of several lines at once, where chalk upon chalk is no brighter than chalk.

Where a construction line or a wiped try runs along a spoke, rows of the spoke alone hardly exist. Then the strip's
picture itself is fitted: in every row the brightest of the lines' blurred boxes, each with a height of its own; unknown
are the spoke's path and width and the neighbours' lines. Gauss-Newton steps with Levenberg's damping; the start is the
best of a coarse search over all lines that the spoke could be.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.profile import Profile
from aligncheck.marks.strip_model import Partner, Picture, StripModel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Rounds of Gauss-Newton, at most, and the step (mm) below which they stop.
ROUNDS, SMALL_MM = 8, 4e-3
#: A second start is followed where its cost is less than this many times the first's; no descent may cost more than it.
RIVAL = 1.3
#: The model of overlapping chalk is crude: its log evidence counts by one over this.
UNBELIEF = 4.0
#: Coarse search: offsets tried at either end of the spoke, mm.
TRIED_MM = np.arange(-2.4, 2.41, 0.6)


class Union(NamedTuple):
    """The spoke's coefficients (P,) with covariance (P, P), and its width."""

    coefficients: Floats
    covariance: Floats
    width_mm: float


def fit_union(
    values: Floats,
    offsets_mm: Floats,
    rows: Bools,
    basis: Floats,
    prior_mm: Floats,
    ends: tuple[int, int],
    partners: tuple[Partner, ...],
    profile: Profile,
    step_mm: float,
    guesses: tuple[Floats, ...] = (),
) -> Union | None:
    """Fit one strip.

    Parameters
    ----------
    values : ndarray (R, M)
        Grey values along the spoke's start line in units of a strong stroke, light strokes positive.
    rows : ndarray (R,) of bool
        Rows to use.
    basis, prior_mm : ndarray (R, P), (P,)
        The spoke's path as in `pieces`, the first two columns its line.
    ends : (int, int)
        Rows where the spoke begins and ends.
    guesses : tuple of ndarray (P,)
        Starts to be tried beside the coarse search's.
    """
    first = np.arange(0, len(rows) - 1, 2)
    first = first[rows[first] & rows[first + 1]]
    if len(first) < 6:
        return None

    def paired(a: Floats) -> Floats:
        # Grain is alike over more than a row: two rows averaged say the same in half the work.
        return 0.5 * (a[first] + a[first + 1])

    lines = tuple(p._replace(offset_mm=paired(p.offset_mm)) for p in partners)
    model = StripModel(paired(values), offsets_mm, paired(basis), prior_mm, lines, profile, 2 * step_mm)
    starts = [model.start(g) for g in (*guesses, *_coarse(model, basis[list(ends)]))]
    # Heights are taken from the likeliest start before all are compared by them.
    model.learn_heights(starts[int(np.argmin(_looks(model, starts)[1]))])
    pictures, costs = _looks(model, starts)
    best, *others = np.argsort(costs)
    # A second start much worse than the first does not end better, and the same one ends at the same place.
    rivals = [k for k in others if costs[k] < RIVAL * costs[best] and not np.allclose(starts[k], starts[best])]
    ends_of = [_descend(model, starts[k], pictures[k]) for k in (best, *rivals[:1])]
    ends_of.sort(key=lambda end: model.plain_cost(end[1], end[0]))
    return _in_doubt(_result(model, *ends_of[0]), [_chance(model, ends_of[0], end) for end in ends_of[1:]])


def _looks(model: StripModel, starts: list[Floats]) -> tuple[list[Picture], list[float]]:
    """What the strip looks like at each start, and its cost."""
    pictures = [model.picture(theta) for theta in starts]
    return pictures, [model.plain_cost(picture, theta) for picture, theta in zip(pictures, starts, strict=True)]


def _coarse(model: StripModel, end_basis: Floats) -> list[Floats]:
    """The best two of straight lines between offsets at both ends."""
    line = np.linalg.inv(end_basis[:, :2])
    tries = np.array([line @ np.array([a, b]) for a in TRIED_MM for b in TRIED_MM])
    costs = model.coarse_costs(tries)
    order = np.argsort(costs)
    # The second start: the best that is not beside the first.
    apart = [k for k in order[1:] if np.abs(tries[k] - tries[order[0]]).max() > 0.7]
    size = model.basis.shape[1]
    return [np.concatenate([tries[k], np.zeros(size - 2)]) for k in (order[0], *apart[:1])]


def _descend(model: StripModel, theta: Floats, picture: Picture) -> tuple[Floats, Picture]:
    """Gauss-Newton with Levenberg's damping from `theta`, where the strip looks like `picture`, to where it ends.

    The robust cost follows the rows that agree with it: where it leads away from all others, the best place met counts.
    """
    damping = 1e-3
    step = model.linearised(picture)
    cost = model.cost(picture, theta, step)
    best, least = (theta, picture), model.plain_cost(picture, theta)
    for _ in range(ROUNDS):
        normal = step.normal + np.diag(model.precision)
        change = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), step.pull - model.precision * theta)
        trial = theta + np.clip(change, -0.5, 0.5)
        tried = model.picture(trial)
        if model.cost(tried, trial, step) < cost:
            theta, picture, damping = trial, tried, damping * 0.3
            plain = model.plain_cost(picture, theta)
            if plain < least:
                best, least = (theta, picture), plain
            if np.abs(change).max() < SMALL_MM:
                break
            step = model.linearised(picture)
            cost = model.cost(picture, theta, step)
        else:
            damping = max(damping * 10, 1e-2)
            if damping > 1e4:
                break
    return best if model.plain_cost(picture, theta) > RIVAL * least else (theta, picture)


def _chance(model: StripModel, best: tuple[Floats, Picture], other: tuple[Floats, Picture]) -> tuple[float, Floats]:
    """How likely the `other` place where a descent ended is, and how far off its coefficients are."""
    step = model.linearised(best[1])
    worse = model.cost(other[1], other[0], step) - model.cost(best[1], best[0], step)
    odds = float(np.exp(-0.5 * np.clip(worse / UNBELIEF, 0.0, 100.0)))
    return odds / (1 + odds), other[0][: model.paths] - best[0][: model.paths]


def _in_doubt(union: Union, others: list[tuple[float, Floats]]) -> Union:
    """The fit, as much less sure as other places explain the strip nearly as well."""
    spread = sum((p * (1 - p) * np.outer(away, away) for p, away in others), np.zeros_like(union.covariance))
    return union._replace(covariance=union.covariance + spread)


def _result(model: StripModel, theta: Floats, picture: Picture) -> Union:
    """Coefficients and covariance at `theta`."""
    covariance = np.linalg.inv(model.linearised(picture).normal + np.diag(model.precision))
    size = model.paths
    width = model.profile.width_mm + theta[size]
    return Union(theta[:size], np.asarray(covariance[:size, :size], float), float(width))
