"""Spokes as one stroke or two: the linear model of the whole spoke, and the lines and ends that follow from it.

One stroke is a line with bows. Two are a line that turns at the hinge (and may jump there a little), with bows on each
piece; the pieces' own least-squares lines carry the ends.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import DEGREE, FREE_MM, GRAIN_MM, RULED_MM, RULED_STROKES, Fit, legendre, robust_fit, solve
from aligncheck.marks.kink import TURN

Floats = NDArray[np.float64]

#: Bows of one piece.
BOWS = DEGREE - 1
#: The second stroke starts at the first one's end to about this, mm, and to what the first one bows.
JUMP_MM = 0.03
#: Where the hinge of one spoke lies about the layout's: the stencil is laid anew or shifts by about this, mm.
HINGE_SD_MM = 1.5
#: A piece shorter than this is no stroke of its own, mm.
SHORTEST_MM = 5.0


@dataclass(frozen=True)
class Pieces:
    """The fitted model of S spokes.

    `hinge_mm` (S,): inf for one stroke. `inner_mm`, `outer_mm` (S,): the span that the model's polynomials stand on.
    `hinge_spread` (S, P, P): covariance that not knowing the hinge's place adds to the coefficients.
    """

    inner_mm: Floats
    outer_mm: Floats
    hinge_mm: Floats
    fit: Fit
    prior_mm: Floats
    along_mm: Floats
    hinge_spread: Floats

    def path(self) -> Floats:
        """Fitted path (S, R), clockwise of the start line."""
        basis = piece_basis(self.along_mm, self.inner_mm, self.outer_mm, self.hinge_mm)
        return np.einsum("srp,sp->sr", basis, self.fit.coefficients)

    def end_rows(self, spoke: int, at_mm: Floats, second: bool) -> Floats:
        """Rows (n, P) of the model that give the straight part of one piece at distances `at_mm` (n,)."""
        middle = (self.inner_mm[spoke] + self.outer_mm[spoke]) / 2
        half = max((self.outer_mm[spoke] - self.inner_mm[spoke]) / 2, 1e-6)
        rows = np.zeros((len(at_mm), self.fit.coefficients.shape[1]))
        rows[:, 0], rows[:, 1] = 1.0, (at_mm - middle) / half
        if second and np.isfinite(self.hinge_mm[spoke]):
            rows[:, 2], rows[:, 3] = at_mm - self.hinge_mm[spoke], 1.0
        return rows


def piece_basis(along_mm: Floats, inner_mm: Floats, outer_mm: Floats, hinge_mm: Floats) -> Floats:
    """Columns (S, R, P): line (2), turn, jump, bows of the first piece (4), bows of the second (4)."""
    first_end = np.minimum(hinge_mm, outer_mm)
    whole = legendre(along_mm, inner_mm, outer_mm)[..., :2]
    beyond = along_mm[None, :] > hinge_mm[:, None]
    past = np.where(beyond, along_mm[None, :] - np.where(np.isfinite(hinge_mm), hinge_mm, 0.0)[:, None], 0.0)
    first = legendre(along_mm, inner_mm, first_end)[..., 2:] * ~beyond[..., None]
    start = np.where(np.isfinite(hinge_mm), hinge_mm, outer_mm - 1.0)
    second = legendre(along_mm, start, np.maximum(outer_mm, start + 1.0))[..., 2:] * beyond[..., None]
    return np.concatenate([whole, past[..., None], beyond[..., None].astype(float), first, second], axis=2)


def piece_prior(bows_mm: Floats) -> Floats:
    """Standard deviations (P,) of the model's coefficients for bows of `bows_mm` (8,): first piece, second piece."""
    jump = float(np.hypot(JUMP_MM, bows_mm.max()))
    return np.concatenate([[FREE_MM, FREE_MM, TURN, jump], bows_mm])


def fit_pieces(
    along_mm: Floats,
    offset_mm: Floats,
    weights: Floats,
    inner_mm: Floats,
    outer_mm: Floats,
    kink_mm: float | None,
    bow_mm: float,
    rounds: int = 6,
) -> Pieces:
    """Fit all spokes, learning from them how strongly they bow (`bow_mm` to start with)."""
    step = float(along_mm[1] - along_mm[0])
    hinge = np.full(len(inner_mm), np.inf)
    bows = np.full(2 * BOWS, bow_mm)
    spread = np.zeros((len(hinge), len(piece_prior(bows)), len(piece_prior(bows))))
    if kink_mm is not None:
        fits = (outer_mm > kink_mm + SHORTEST_MM) & (inner_mm < kink_mm - SHORTEST_MM)
        hinge[fits] = kink_mm
        hinge, spread = _own_hinges(along_mm, offset_mm, weights, inner_mm, outer_mm, hinge, bows)
    basis = piece_basis(along_mm, inner_mm, outer_mm, hinge)
    fit = robust_fit(basis, offset_mm, weights, piece_prior(bows), step)
    for _ in range(rounds):
        bows = _learn(fit, np.isfinite(hinge))
        fit = robust_fit(basis, offset_mm, weights, piece_prior(bows), step, rounds=2)
    return Pieces(inner_mm, outer_mm, hinge, fit, piece_prior(bows), along_mm, spread)


def _learn(fit: Fit, two: NDArray[np.bool_]) -> Floats:
    """Standard deviations (8,) of the bows among these strokes (the step of maximisation)."""
    index = np.arange(4, 4 + 2 * BOWS)
    square = fit.coefficients[:, index] ** 2 + fit.covariance[:, index, index]
    learned = []
    for part, drawn in ((square[:, :BOWS], np.ones(len(two), bool)), (square[:, BOWS:], two)):
        mean = (part[drawn].sum(0) + RULED_STROKES * RULED_MM**2) / (drawn.sum() + RULED_STROKES)
        # One order alone is learned from few strokes; half of it is what all orders say.
        learned.append(np.sqrt(0.5 * mean + 0.5 * mean.mean()))
    return np.concatenate(learned)


def _own_hinges(
    along_mm: Floats,
    offset_mm: Floats,
    weights: Floats,
    inner_mm: Floats,
    outer_mm: Floats,
    hinge_mm: Floats,
    bows_mm: Floats,
) -> tuple[Floats, Floats]:
    """Each spoke's own hinge (S,) near the layout's, and what its uncertainty adds to the covariance (S, P, P).

    Hinges are tried about the layout's; each is as likely as its fit's cost says.
    """
    step = float(along_mm[1] - along_mm[0])
    shifts = np.arange(-3, 3.01, 0.75) * HINGE_SD_MM
    prior = piece_prior(bows_mm)
    cost, fitted, tried = [], [], []
    variance, kept = np.ones(len(hinge_mm)), weights
    for j, shift in enumerate(shifts):
        moved = hinge_mm + shift
        moved = np.where(np.isfinite(moved), np.clip(moved, inner_mm + 1, outer_mm - 1), np.inf)
        basis = piece_basis(along_mm, inner_mm, outer_mm, moved)
        if j == 0:
            fit = robust_fit(basis, offset_mm, weights, prior, step, rounds=3)
            variance, kept = fit.variance * max(1.0, GRAIN_MM / step), fit.weights
        coefficients, _ = solve(basis, offset_mm, kept, variance, prior)
        residual = np.where(kept > 0, offset_mm, 0.0) - np.einsum("srp,sp->sr", basis, coefficients)
        misfit = (kept * residual**2).sum(1) / variance
        cost.append(misfit + ((coefficients / prior) ** 2).sum(1) + (shift / HINGE_SD_MM) ** 2)
        fitted.append(coefficients)
        tried.append(moved)
    costs, moved_all = np.array(cost), np.array(tried)
    best = costs.argmin(0)
    chance = np.exp(-0.5 * (costs - costs.min(0)))
    chance /= chance.sum(0)
    spokes = np.arange(len(hinge_mm))
    hinge, usual = moved_all[best, spokes], np.array(fitted)[best, spokes]
    spread = np.zeros((len(hinge), len(prior), len(prior)))
    for p, moved, coefficients in zip(chance, moved_all, fitted, strict=True):
        away = coefficients - usual
        # The same second line, written about the chosen hinge.
        with np.errstate(invalid="ignore"):
            away[:, 3] += np.where(np.isfinite(hinge), coefficients[:, 2] * (hinge - moved), 0.0)
        spread += p[:, None, None] * away[:, :, None] * away[:, None, :]
    return hinge, spread
