"""Strokes that overlap: the picture of several lines at once, where chalk upon chalk is no brighter than chalk.

Where a construction line or a wiped try runs along a spoke, rows of the spoke alone hardly exist. Then the strip's
picture itself is fitted: in every row the brightest of the lines' blurred boxes, each with a height of its own; unknown
are the spoke's path and width and the neighbours' lines. Gauss-Newton steps with Levenberg's damping; the start is the
best of a coarse search over all lines that the spoke could be.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.profile import Profile

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Rows whose misfit is this many times the usual row's count half.
ROW_COST = 5.0
#: A row's height is held to the line's usual height as if by this much of a row's own evidence.
HEIGHT_PRIOR = 0.15
#: Widths of strokes of one hand and chalk differ by about this, mm per mm.
WIDTH_SD = 0.15
#: Rounds of Gauss-Newton, at most, and the step (mm) below which they stop.
ROUNDS, SMALL_MM = 10, 5e-4
#: Scores are summed over pieces of this length before their variance is taken: beyond it grain is independent.
PIECE_MM = 4.0
#: Coarse search: offsets tried at either end of the spoke, mm.
TRIED_MM = np.arange(-2.4, 2.41, 0.6)


@dataclass(frozen=True)
class Partner:
    """A line beside the spoke: offsets (R,) from the spoke's start line, and how well it is known, mm."""

    offset_mm: Floats
    sd_mm: float
    width_mm: float


@dataclass(frozen=True)
class Union:
    """The spoke's coefficients (P,) with covariance (P, P), its width, and how many rows carried it."""

    coefficients: Floats
    covariance: Floats
    width_mm: float
    rows: int


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
    use = np.nonzero(rows)[0]
    if len(use) < 8:
        return None
    problem = _Problem(
        values[use],
        offsets_mm,
        basis[use],
        prior_mm,
        tuple(p.offset_mm[use] for p in partners),
        partners,
        profile,
        step_mm,
    )
    starts = [*guesses, *_coarse(problem, basis[list(ends)])]
    first = sorted((problem.step_from(problem.start(s), rounds=2) for s in starts), key=lambda r: r[1])[:2]
    best = min((problem.step_from(theta, rounds=ROUNDS) for theta, _ in first), key=lambda r: r[1])[0]
    return problem.result(best, use)


def _coarse(problem: "_Problem", end_basis: Floats) -> list[Floats]:
    """The best two of straight lines between offsets at both ends."""
    line = np.linalg.inv(end_basis[:, :2])
    tries = [line @ np.array([a, b]) for a in TRIED_MM for b in TRIED_MM]
    costs = problem.coarse_costs(np.array(tries))
    order = np.argsort(costs)
    picked = [order[0]]
    # The second start: the best that is not beside the first.
    for k in order[1:]:
        if np.abs(np.subtract(tries[k], tries[picked[0]])).max() > 0.7:
            picked.append(k)
            break
    size = problem.basis.shape[1]
    return [np.concatenate([tries[k], np.zeros(size - 2)]) for k in picked]


class _Problem:
    """One strip's data and model; parameters are the spoke's path, its width, and two per partner."""

    def __init__(
        self,
        values: Floats,
        offsets: Floats,
        basis: Floats,
        prior: Floats,
        partner_offsets: tuple[Floats, ...],
        partners: tuple[Partner, ...],
        profile: Profile,
        step: float,
    ):
        self.values, self.offsets, self.basis = values, offsets, basis
        self.partner_offsets, self.partners, self.profile, self.step = partner_offsets, partners, profile, step
        self.pixel = float(offsets[1] - offsets[0])
        u = np.linspace(-1, 1, len(values))
        self.line = np.stack([np.ones_like(u), u], axis=1)
        sds = [p.sd_mm for p in partners for _ in range(2)]
        width_sd = WIDTH_SD * profile.width_mm
        self.precision = 1 / np.concatenate([prior, [width_sd], sds]) ** 2
        self.paths = basis.shape[1]

    def start(self, coefficients: Floats) -> Floats:
        """Parameters for a spoke with these coefficients, all else as expected."""
        return np.concatenate([coefficients, np.zeros(1 + 2 * len(self.partners))])

    def lines(self, theta: Floats) -> list[Floats]:
        """Offsets (R,) of the spoke and its partners."""
        spoke = self.basis @ theta[: self.paths]
        shifts = theta[self.paths + 1 :].reshape(-1, 2)
        return [spoke] + [o + self.line @ s for o, s in zip(self.partner_offsets, shifts, strict=True)]

    def picture(self, theta: Floats) -> tuple[Floats, NDArray[np.intp], list[Floats], list[Floats], list[Profile]]:
        """Residuals (R, M) and which line is on top of each pixel; with the lines' distances, heights, profiles."""
        width = max(self.profile.width_mm + theta[self.paths], 0.3 * self.profile.width_mm)
        shapes = [Profile(width, self.profile.blur_mm)]
        shapes += [Profile(p.width_mm, self.profile.blur_mm) for p in self.partners]
        away = [self.offsets - c[:, None] for c in self.lines(theta)]
        boxes = np.stack([s.height(d) for s, d in zip(shapes, away, strict=True)])
        bare = np.all(np.abs(np.stack(away)) > 0.5 * width + 2.5 * self.profile.blur_mm, axis=0)
        count = bare.sum(1)
        base = np.where(
            count > 3, (self.values * bare).sum(1) / np.maximum(count, 1), np.percentile(self.values, 10, 1)
        )
        light = self.values - base[:, None]
        heights = self._heights(light, boxes)
        scaled = boxes * heights[..., None]
        top = scaled.argmax(0)
        residual = light - np.take_along_axis(scaled, top[None], 0)[0]
        return residual, top, away, list(heights), shapes

    def _heights(self, light: Floats, boxes: Floats) -> Floats:
        """Height (L, R) of every line in every row."""
        heights = np.full(boxes.shape[:2], 0.8)
        for _ in range(2):
            top = (boxes * heights[..., None]).argmax(0)
            for k in range(len(boxes)):
                own = boxes[k] * (top == k)
                inner = (own * own).sum(1)
                full = (boxes[k] ** 2).sum(1).max()
                usual = np.clip(np.median(heights[k]), 0.1, 1.2)
                rate = HEIGHT_PRIOR * full
                heights[k] = np.clip(((own * light).sum(1) + rate * usual) / (inner + rate), 0.0, 1.5)
        return heights

    def row_costs(self, residual: Floats) -> Floats:
        """Misfit (R,) of every row: squared residual over the width of a stroke."""
        return (residual**2).sum(1) * self.pixel / self.profile.width_mm

    def cost(self, residual: Floats, theta: Floats, usual: float, noise: float) -> float:
        """Robust cost of all rows and the priors."""
        e = self.row_costs(residual) / usual
        data = (e / (1 + e / ROW_COST)).sum() * usual * self.profile.width_mm / self.pixel / noise
        return float(data + (theta**2 * self.precision).sum())

    def coarse_costs(self, tries: Floats) -> Floats:
        """Cost of straight spokes (n, 2) on rows averaged by four."""
        group = max(1, len(self.values) // 25)
        n = len(self.values) // group * group
        thin = _Problem(
            self.values[:n].reshape(-1, group, self.values.shape[1]).mean(1),
            self.offsets,
            self.basis[:n].reshape(-1, group, self.paths).mean(1),
            1 / np.sqrt(self.precision[: self.paths]),
            tuple(o[:n].reshape(-1, group).mean(1) for o in self.partner_offsets),
            self.partners,
            self.profile,
            self.step * group,
        )
        costs = []
        for pair in tries:
            theta = thin.start(np.concatenate([pair, np.zeros(self.paths - 2)]))
            e = thin.row_costs(thin.picture(theta)[0])
            costs.append(float((e / (1 + e / 0.1)).sum()))
        return np.array(costs)

    def linearised(self, theta: Floats) -> tuple[Floats, Floats, Floats, float, float]:
        """Residual, Jacobian (R, M, Q) of the model, row weights, usual row misfit, noise of one pixel's score."""
        residual, top, away, heights, shapes = self.picture(theta)
        rows, columns = residual.shape
        jacobian = np.zeros((rows, columns, len(theta)))
        for k, (d, h, s) in enumerate(zip(away, heights, shapes, strict=True)):
            on_top = (top == k) * h[:, None]
            moved = -s.slope(d) * on_top
            if k == 0:
                jacobian[..., : self.paths] = moved[..., None] * self.basis[:, None, :]
                jacobian[..., self.paths] = s.widening(d) * on_top
            else:
                at = self.paths + 1 + 2 * (k - 1)
                jacobian[..., at : at + 2] = moved[..., None] * self.line[:, None, :]
        e = self.row_costs(residual)
        usual = max(float(np.median(e)), 1e-6)
        weight = 1 / (1 + e / usual / ROW_COST) ** 2
        return residual, jacobian, weight, usual, self._noise(residual, jacobian, weight)

    def _noise(self, residual: Floats, jacobian: Floats, weight: Floats) -> float:
        """Variance of one pixel that gives the spoke's line the variance that its clustered scores show."""
        scores = np.einsum("rm,rmq->rq", residual, jacobian[..., :2]) * weight[:, None]
        group = max(1, round(PIECE_MM / self.step))
        n = len(scores) // group * group
        pieces = scores[:n].reshape(-1, group, 2).sum(1)
        information = np.einsum("rmq,r->q", jacobian[..., :2] ** 2, weight)
        return max(float((pieces**2).sum() / max(information.sum(), 1e-9)), 1e-4)

    def step_from(self, theta: Floats, rounds: int) -> tuple[Floats, float]:
        """Gauss-Newton from `theta`; returns where it ended, and the cost there."""
        damping = 1e-3
        residual, jacobian, weight, usual, noise = self.linearised(theta)
        cost = self.cost(residual, theta, usual, noise)
        for _ in range(rounds):
            weighted = jacobian * weight[:, None, None]
            normal = np.tensordot(weighted, jacobian, ((0, 1), (0, 1))) / noise + np.diag(self.precision)
            gradient = np.einsum("rmq,rm->q", weighted, residual) / noise - self.precision * theta
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), gradient)
            trial = theta + np.clip(step, -0.5, 0.5)
            new_cost = self.cost(self.picture(trial)[0], trial, usual, noise)
            if new_cost < cost:
                theta, damping = trial, damping * 0.3
                if np.abs(step).max() < SMALL_MM:
                    break
                residual, jacobian, weight, usual, noise = self.linearised(theta)
                cost = self.cost(residual, theta, usual, noise)
            else:
                damping = max(damping * 10, 1e-2)
                if damping > 1e4:
                    break
        # Starts are compared by the same yardstick.
        e = self.row_costs(self.picture(theta)[0])
        return theta, float((e / (1 + e / 0.1)).sum() + 0.02 * (theta**2 * self.precision).sum())

    def result(self, theta: Floats, use: NDArray[np.intp]) -> Union:
        """Coefficients and covariance at `theta`."""
        _, jacobian, weight, _, noise = self.linearised(theta)
        normal = np.tensordot(jacobian * weight[:, None, None], jacobian, ((0, 1), (0, 1))) / noise
        covariance = np.linalg.inv(normal + np.diag(self.precision))
        size = self.paths
        width = self.profile.width_mm + theta[size]
        return Union(theta[:size], covariance[:size, :size], float(width), len(use))
