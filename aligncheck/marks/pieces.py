"""Spokes as one stroke or two: the linear model of the whole spoke, and the lines and ends that follow from it.

One stroke is a line with bows. Two are a line that turns at the hinge (and may jump there a little), with bows on each
piece; the pieces' own least-squares lines carry the ends.

How strongly the strokes of a photo bow is learned from all of them (expectation and maximisation, Dempster, Laird &
Rubin, J. R. Stat. Soc. B 39 (1977) 1): nothing along a ruler, a tenth of a millimetre by hand.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import (
    DEGREE,
    FREE_MM,
    GRAIN_MM,
    RULED_MM,
    RULED_STROKES,
    Fit,
    curves,
    legendre,
    robust_fit,
    solve,
)

Floats = NDArray[np.float64]

#: Bows of one piece.
BOWS = DEGREE - 1
#: A second stroke turns away from the first by about this much, radians (0.7 degrees: a ruler laid by eye).
TURN = float(np.radians(0.7))
#: The second stroke starts at the first one's end to about this, mm, and to what the first one bows.
JUMP_MM = 0.15
#: Where the hinge of one spoke lies about the layout's: the stencil is laid anew, or the ruler by eye, mm.
HINGE_SD_MM = 2.0
#: Places tried for the layout's hinge about the first finding, mm, and bows of the pieces, mm.
COMMON_MM = np.arange(-9.0, 9.1, 1.5)
TRIED_BOWS_MM = (0.01, 0.05, 0.15)
#: A piece shorter than this is no stroke of its own, mm.
SHORTEST_MM = 5.0


class Pieces(NamedTuple):
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
        return curves(basis, self.fit.coefficients)

    def end_rows(self, spoke: int, at_mm: Floats, second: bool) -> Floats:
        """Rows (n, P) of the model that give the straight part of one piece at distances `at_mm` (n,)."""
        middle = (self.inner_mm[spoke] + self.outer_mm[spoke]) / 2
        half = max((self.outer_mm[spoke] - self.inner_mm[spoke]) / 2, 1e-6)
        rows = np.zeros((len(at_mm), self.fit.coefficients.shape[1]))
        rows[:, 0], rows[:, 1] = 1.0, (at_mm - middle) / half
        if second and np.isfinite(self.hinge_mm[spoke]):
            rows[:, 2], rows[:, 3] = at_mm - self.hinge_mm[spoke], 1.0
        return rows

    def end_shift(self, spoke: int, ends_sd_mm: Floats) -> Floats:
        """Covariance (2, 2) that not knowing where a bowed stroke ends adds across its line at the inner and outer end.

        The least-squares line over a length L turns and shifts as its end moves: where the path departs from it by e
        there, a bit dx more or less moves the line by 4 e dx / L at that end and -2 e dx / L at the other.
        """
        bows = self.fit.coefficients[spoke, 4:]
        hinge = float(np.clip(self.hinge_mm[spoke], self.inner_mm[spoke], self.outer_mm[spoke]))
        one_stroke = not np.isfinite(self.hinge_mm[spoke])
        last = bows[:BOWS] if one_stroke else bows[BOWS:]
        lengths = (hinge - self.inner_mm[spoke], self.outer_mm[spoke] - (self.inner_mm[spoke] if one_stroke else hinge))
        # Legendre polynomials are 1 at the outer end and 1, -1, 1, .. at the inner.
        off = np.array([bows[:BOWS] @ (-1.0) ** np.arange(2, 2 + BOWS), last.sum()])
        moved = off * ends_sd_mm / np.maximum(lengths, SHORTEST_MM)
        other = -2.0 if one_stroke else 0.0
        gain = np.array([[4.0, other], [other, 4.0]]) * moved
        return np.asarray(gain @ gain.T, float)


def piece_basis(along_mm: Floats, inner_mm: Floats, outer_mm: Floats, hinge_mm: Floats) -> Floats:
    """Columns (S, R, P): line (2), turn, jump, bows of the first piece (4), bows of the second (4)."""
    first_end = np.minimum(hinge_mm, outer_mm)
    whole = legendre(along_mm, inner_mm, outer_mm, 1)
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
        loose = piece_prior(np.full(2 * BOWS, TRIED_BOWS_MM[-1]))
        first = robust_fit(piece_basis(along_mm, inner_mm, outer_mm, hinge), offset_mm, weights, loose, step)
        variance = first.variance * max(1.0, GRAIN_MM / step)
        hinge, spread = _hinges(_Rows(along_mm, offset_mm, first.weights, variance, inner_mm, outer_mm), hinge)
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


def with_doubt(chosen: Pieces, other: Pieces, chance: float) -> Pieces:
    """`chosen`, its uncertainty widened by what `other` says, which holds with this `chance` instead.

    Between two models the variance of a figure is their variances' mean plus chance x (1 - chance) x difference^2.
    """
    spread = chosen.hinge_spread.copy()
    size = spread.shape[1]
    for s in range(len(spread)):
        ends = (chosen.inner_mm[s : s + 1], chosen.outer_mm[s : s + 1])
        away = np.array(
            [
                float((p.end_rows(s, at, second) @ p.fit.coefficients[s])[0])
                for p in (chosen, other)
                for at, second in zip(ends, (False, True), strict=True)
            ]
        )
        inner, outer = away[2] - away[0], away[3] - away[1]
        shift = np.zeros(size)
        shift[0], shift[1] = (inner + outer) / 2, (outer - inner) / 2
        spread[s] += chance * (1 - chance) * np.outer(shift, shift)
    return chosen._replace(hinge_spread=spread)


class _Rows(NamedTuple):
    """What hinges are judged by: rows, their weights (outliers out) and variance, and the strokes' spans."""

    along_mm: Floats
    offset_mm: Floats
    weights: Floats
    variance: Floats
    inner_mm: Floats
    outer_mm: Floats

    def fitted(self, hinge_mm: Floats, prior: Floats) -> tuple[Floats, Floats]:
        """Coefficients (S, P), and minus twice the log evidence (S,), but for what all hinges share."""
        basis = piece_basis(self.along_mm, self.inner_mm, self.outer_mm, hinge_mm)
        coefficients, covariance = solve(basis, self.offset_mm, self.weights, self.variance, prior)
        residual = np.where(self.weights > 0, self.offset_mm - curves(basis, coefficients), 0.0)
        misfit = (self.weights * residual**2).sum(1) / self.variance + ((coefficients / prior) ** 2).sum(1)
        return coefficients, misfit - np.linalg.slogdet(covariance)[1] + 2 * np.log(prior).sum()

    def moved(self, hinge_mm: Floats, shift: float) -> Floats:
        """Hinges shifted, but kept within their strokes."""
        inside = np.clip(hinge_mm + shift, self.inner_mm + 1, self.outer_mm - 1)
        return np.where(np.isfinite(hinge_mm), inside, np.inf)


def _hinges(rows: _Rows, hinge_mm: Floats) -> tuple[Floats, Floats]:
    """Each spoke's own hinge (S,), and what its uncertainty adds to the covariance (S, P, P).

    The layout's hinge is placed first, by all spokes; about it each spoke's own is tried, each place as likely as its
    evidence says.
    """
    priors = [piece_prior(np.full(2 * BOWS, bow)) for bow in TRIED_BOWS_MM]
    prior = min(priors, key=lambda p: float(rows.fitted(hinge_mm, p)[1].sum()))
    common = min(COMMON_MM, key=lambda shift: float(rows.fitted(rows.moved(hinge_mm, shift), prior)[1].sum()))
    usual = rows.moved(hinge_mm, float(common))
    shifts = np.linspace(-2.5, 2.5, 7) * HINGE_SD_MM
    tried = np.array([rows.moved(usual, float(shift)) for shift in shifts])
    results = [rows.fitted(hinge, prior) for hinge in tried]
    costs = np.array([r[1] for r in results]) + ((shifts / HINGE_SD_MM) ** 2)[:, None]
    best = costs.argmin(0)
    chance = np.exp(-0.5 * (costs - costs.min(0)))
    chance /= chance.sum(0)
    spokes = np.arange(len(hinge_mm))
    fitted = np.array([r[0] for r in results])
    hinge, chosen = tried[best, spokes], fitted[best, spokes]
    spread = np.zeros((len(hinge), len(prior), len(prior)))
    for p, moved, coefficients in zip(chance, tried, fitted, strict=True):
        away = coefficients - chosen
        # The same second line, written about the chosen hinge.
        with np.errstate(invalid="ignore"):
            away[:, 3] += np.where(np.isfinite(hinge), coefficients[:, 2] * (hinge - moved), 0.0)
        spread += p[:, None, None] * away[:, :, None] * away[:, None, :]
    return hinge, spread
