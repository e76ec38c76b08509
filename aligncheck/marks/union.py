"""Strokes that overlap: the picture of several lines at once, where chalk upon chalk is no brighter than chalk.

Where a construction line or a wiped try runs along a spoke, rows of the spoke alone hardly exist. Then the strip's
picture itself is fitted: in every row the brightest of the lines' blurred boxes, each with a height of its own; unknown
are the spoke's path and width and the neighbours' lines. Gauss-Newton steps with Levenberg's damping; the start is the
best of a coarse search over all lines that the spoke could be.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import median, quantile
from aligncheck.marks.profile import Profile

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
#: Residuals, which line is on top of each pixel, the lines' distances, heights and profiles.
Picture = tuple[Floats, NDArray[np.intp], list[Floats], list[Floats], list[Profile]]

#: Rows whose misfit is this many times the usual row's count half.
ROW_COST = 5.0
#: A row's height is held to the line's usual height as if by this much of a row's own evidence.
HEIGHT_PRIOR = 0.15
#: Widths of strokes of one hand and chalk differ by about this, mm per mm.
WIDTH_SD = 0.15
#: Rounds of Gauss-Newton, at most, and the step (mm) below which they stop.
ROUNDS, SMALL_MM = 8, 2e-3
#: A second start is followed where its cost is less than this many times the first's.
RIVAL = 1.3
#: Row misfit, in parts of a stroke's area, beyond which a row is something else.
SCALE = 0.1
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

    lines = tuple(paired(p.offset_mm) for p in partners)
    problem = _Problem(paired(values), offsets_mm, paired(basis), prior_mm, lines, partners, profile, 2 * step_mm)
    starts = [problem.start(g) for g in (*guesses, *_coarse(problem, basis[list(ends)]))]
    costs = [problem.plain_cost(theta) for theta in starts]
    order = np.argsort(costs)[:2]
    # A second start much worse than the first does not end better.
    picked = [starts[k] for k in order if costs[k] < RIVAL * costs[order[0]]]
    best = min((problem.descend(theta) for theta in picked), key=problem.plain_cost)
    return problem.result(best)


def _coarse(problem: "_Problem", end_basis: Floats) -> list[Floats]:
    """The best two of straight lines between offsets at both ends."""
    line = np.linalg.inv(end_basis[:, :2])
    tries = np.array([line @ np.array([a, b]) for a in TRIED_MM for b in TRIED_MM])
    costs = problem.coarse_costs(tries)
    order = np.argsort(costs)
    # The second start: the best that is not beside the first.
    apart = [k for k in order[1:] if np.abs(tries[k] - tries[order[0]]).max() > 0.7]
    size = problem.basis.shape[1]
    return [np.concatenate([tries[k], np.zeros(size - 2)]) for k in (order[0], *apart[:1])]


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
        self.dark = quantile(values, 0.1)
        self.usual_heights: Floats | None = None

    def start(self, coefficients: Floats) -> Floats:
        """Parameters for a spoke with these coefficients, all else as expected."""
        return np.concatenate([coefficients, np.zeros(1 + 2 * len(self.partners))])

    def lines(self, theta: Floats) -> list[Floats]:
        """Offsets (R,) of the spoke and its partners."""
        spoke = self.basis @ theta[: self.paths]
        shifts = theta[self.paths + 1 :].reshape(-1, 2)
        return [spoke] + [o + self.line @ s for o, s in zip(self.partner_offsets, shifts, strict=True)]

    def picture(self, theta: Floats) -> Picture:
        """Residuals (R, M) and which line is on top of each pixel; with the lines' distances, heights, profiles."""
        width = max(self.profile.width_mm + float(theta[self.paths]), 0.3 * self.profile.width_mm)
        shapes = [Profile(width, self.profile.blur_mm)]
        shapes += [Profile(p.width_mm, self.profile.blur_mm) for p in self.partners]
        away = [self.offsets - c[:, None] for c in self.lines(theta)]
        boxes = np.stack([s.height(d) for s, d in zip(shapes, away, strict=True)])
        bare = np.all(np.abs(np.stack(away)) > 0.5 * width + 2.5 * self.profile.blur_mm, axis=0)
        count = bare.sum(1)
        base = np.where(count > 3, (self.values * bare).sum(1) / np.maximum(count, 1), self.dark)
        light = self.values - base[:, None]
        heights = self._heights(light, boxes)
        scaled = boxes * heights[..., None]
        top = scaled.argmax(0)
        residual = light - np.take_along_axis(scaled, top[None], 0)[0]
        return residual, top, away, list(heights), shapes

    def _heights(self, light: Floats, boxes: Floats) -> Floats:
        """Height (L, R) of every line in every row, held weakly to the line's usual height."""
        usual = np.full(len(boxes), 0.8) if self.usual_heights is None else self.usual_heights
        heights = np.repeat(usual[:, None], boxes.shape[1], axis=1)
        rate = HEIGHT_PRIOR * (boxes**2).sum(2).max(1)[:, None]
        for _ in range(2):
            scaled = boxes * heights[..., None]
            own = boxes * (scaled >= scaled.max(0))
            heights = ((own * light).sum(2) + rate * usual[:, None]) / ((own * own).sum(2) + rate)
            heights = np.clip(heights, 0.0, 1.5)
        if self.usual_heights is None:
            self.usual_heights = np.clip(np.median(heights, axis=1), 0.1, 1.2)
        return heights

    def row_costs(self, residual: Floats) -> Floats:
        """Misfit (R,) of every row: squared residual over the width of a stroke."""
        return (residual**2).sum(1) * self.pixel / self.profile.width_mm

    def cost(self, residual: Floats, theta: Floats, usual: float, noise: float) -> float:
        """Robust cost of all rows and the priors."""
        e = self.row_costs(residual) / usual
        data = (e / (1 + e / ROW_COST)).sum() * usual * self.profile.width_mm / self.pixel / noise
        return float(data + (theta**2 * self.precision).sum())

    def plain_cost(self, theta: Floats) -> float:
        """Cost that does not depend on what the fit itself makes of the noise: to compare starts and ends by."""
        e = self.row_costs(self.picture(theta)[0])
        return float((e / (1 + e / SCALE)).sum() + 0.02 * (theta**2 * self.precision).sum())

    def coarse_costs(self, tries: Floats) -> Floats:
        """Cost of straight spokes (n, 2), the partners as expected, on rows averaged to about 25."""
        group = max(1, len(self.values) // 25)
        n = len(self.values) // group * group

        def mean(a: Floats) -> Floats:
            return np.asarray(a[:n].reshape(n // group, group, *a.shape[1:]).mean(1), float)

        light = mean(self.values - self.dark[:, None])
        partners = np.zeros(light.shape)
        for offset, partner in zip(self.partner_offsets, self.partners, strict=True):
            box = Profile(partner.width_mm, self.profile.blur_mm).height(self.offsets - mean(offset)[:, None])
            top = ((box * light).sum(1) / np.maximum((box * box).sum(1), 1e-9))[:, None]
            partners = np.maximum(partners, box * np.clip(np.minimum(top, np.median(top)), 0.0, 1.2))
        paths = tries @ mean(self.basis)[:, :2].T
        boxes = self.profile.height(self.offsets - paths[..., None])
        own = boxes * (boxes > partners)
        heights = np.clip((own * light).sum(2) / ((own * own).sum(2) + 0.3), 0.0, 1.2)
        residual = light - np.maximum(boxes * heights[..., None], partners)
        e = (residual**2).sum(2) * self.pixel / self.profile.width_mm
        return np.asarray((e / (1 + e / SCALE)).sum(1), float)

    def linearised(self, theta: Floats, picture: Picture | None = None) -> tuple[Floats, Floats, Floats, float, float]:
        """Residual, Jacobian (R, M, Q) of the model, row weights, usual row misfit, noise of one pixel's score."""
        residual, top, away, heights, shapes = picture or self.picture(theta)
        jacobian = np.zeros((*residual.shape, len(theta)))
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
        usual = max(median(e), 1e-6)
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

    def descend(self, theta: Floats) -> Floats:
        """Gauss-Newton from `theta` to where it ends."""
        damping = 1e-3
        residual, jacobian, weight, usual, noise = self.linearised(theta)
        cost = self.cost(residual, theta, usual, noise)
        for _ in range(ROUNDS):
            weighted = jacobian * weight[:, None, None]
            normal = np.tensordot(weighted, jacobian, ((0, 1), (0, 1))) / noise + np.diag(self.precision)
            gradient = np.einsum("rmq,rm->q", weighted, residual) / noise - self.precision * theta
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), gradient)
            trial = theta + np.clip(step, -0.5, 0.5)
            picture = self.picture(trial)
            new_cost = self.cost(picture[0], trial, usual, noise)
            if new_cost < cost:
                theta, damping = trial, damping * 0.3
                if np.abs(step).max() < SMALL_MM:
                    break
                residual, jacobian, weight, usual, noise = self.linearised(theta, picture)
                cost = self.cost(residual, theta, usual, noise)
            else:
                damping = max(damping * 10, 1e-2)
                if damping > 1e4:
                    break
        return theta

    def result(self, theta: Floats) -> Union:
        """Coefficients and covariance at `theta`."""
        _, jacobian, weight, _, noise = self.linearised(theta)
        normal = np.tensordot(jacobian * weight[:, None, None], jacobian, ((0, 1), (0, 1))) / noise
        covariance = np.linalg.inv(normal + np.diag(self.precision))
        size = self.paths
        width = self.profile.width_mm + theta[size]
        return Union(theta[:size], np.asarray(covariance[:size, :size], float), float(width))
