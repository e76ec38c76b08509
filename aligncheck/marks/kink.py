"""Was the layout drawn in two strokes: through a stencil, then pulled out with a ruler or by hand?

Then all spokes turn, and may jump a little, at about one distance from the centre, that of the stencil's edge. Two
models are held against each other, one stroke with bows and two strokes with bows, each averaged over all that is not
known of it (how strongly the hand bows, turns and jumps, where the stencil ends, how far each spoke's second stroke
starts from there): Bayes' factor, MacKay, Neural Comput. 4 (1992) 415. A model that can bend anywhere must earn its
freedom, so bowed layouts are not taken for kinked ones.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.marks.bows import DEGREE, FREE_MM, legendre

Floats = NDArray[np.float64]

#: A second stroke turns away from the first by about one of these, radians (0.2 and 0.6 degrees: a ruler laid with care
#: and by eye), and starts beside the first one's end by about one of these, mm.
TURNS = (float(np.radians(0.2)), float(np.radians(0.6)))
JUMPS_MM = (0.03, 0.15)
#: How strongly hands bow, mm; a bow's higher orders are smaller, and so are those of a short second stroke.
BOWS_MM = (0.004, 0.01, 0.025, 0.06, 0.15, 0.4)
ORDERS = np.array([1.0, 0.6, 0.4, 0.3])
SECOND = 0.5
#: Bows of one piece that are told from its turn and jump.
PIECE_BOWS = 3
#: How far the spokes' hinges lie from the layout's, mm: through one stencil, or each by eye.
OWN_MM = (1.0, 3.0)
#: Where a hinge is looked for, in parts of the layout's reach, and how many places are tried.
SPAN, TRIED = (0.25, 0.86), 24
#: Less than this of a first stroke, mm, shows no direction (a centrepiece may cover the rest).
FIRST_STROKE_MM = 12.0
#: About one layout in three is drawn in two strokes.
PRIOR_ODDS = 1 / 2
#: Neither model knows rubbed chalk or strays: their log evidence counts by this part.
BELIEF = 0.5
#: Rows hang together a little more than the grain's length says: their precision is divided by this.
HANG = 1.2


class Kink(NamedTuple):
    """Where the layout's spokes most likely change direction, and how likely it is that they do at all."""

    at_mm: float
    chance: float


def find_kink(along_mm: Floats, offset_mm: Floats, precision: Floats, span_mm: tuple[float, float]) -> Kink:
    """Where spokes change direction, and whether they do.

    Parameters
    ----------
    along_mm : ndarray (R,)
    offset_mm, precision : ndarray (S, R)
        Where each row's stroke lies, and one over its variance in 1 / mm^2; nought where there is no row.
    span_mm : (float, float)
        Distances between which the layout's spokes are drawn.
    """
    start, reach = span_mm
    hinges = np.linspace(max(SPAN[0] * reach, start + FIRST_STROKE_MM), SPAN[1] * reach, TRIED)
    one, two = _log_evidence(along_mm, offset_mm, precision / HANG, hinges)
    places = np.array([_mean_log(_near(two, hinges, sd).sum(-1), (1, 2, 3)) for sd in OWN_MM])
    single = float(_mean_log(one.sum(1), (0,)))
    double = float(_mean_log(places, (0, 1)))
    at = int(_mean_log(places, (0,)).argmax())
    odds = BELIEF * (double - single) + np.log(PRIOR_ODDS)
    return Kink(float(hinges[at]), float(1 / (1 + np.exp(-np.clip(odds, -50, 50)))))


def _mean_log(values: Floats, axes: tuple[int, ...]) -> Floats:
    """Logarithm of the mean of exp(values) over `axes`."""
    top = values.max(axes, keepdims=True)
    return np.asarray(np.squeeze(top, axes) + np.log(np.exp(values - top).mean(axes)), float)


def _near(two: Floats, hinges: Floats, sd_mm: float) -> Floats:
    """Evidence (G, B, T, J, S) of each stroke for a hinge somewhere about the layout's hinge at each place."""
    share = np.exp(-0.5 * ((hinges[:, None] - hinges) / sd_mm) ** 2)
    share /= share.sum(1, keepdims=True)
    top = two.max(0)
    mean = np.tensordot(share, np.exp(two - top), 1)
    return np.asarray(np.log(np.maximum(mean, 1e-300)) + top, float)


def _log_evidence(along: Floats, offset: Floats, precision: Floats, hinges: Floats) -> tuple[Floats, Floats]:
    """Log evidence of one stroke (B, S), and of two (G, B, T, J, S) with a hinge at each of `hinges` (G,)."""
    drawn = precision > 0
    some = drawn.any(1)
    inner = np.where(some, along[drawn.argmax(1)], along[0])
    outer = np.where(some, along[-1 - drawn[:, ::-1].argmax(1)], along[-1])
    whole = legendre(along, inner, outer)
    line = np.array([FREE_MM, FREE_MM])
    moments = _moments(whole, offset, precision)
    one = [_evidence(*moments, np.concatenate([line, bow * ORDERS[: DEGREE - 1]])) for bow in BOWS_MM]
    two = []
    for hinge in hinges:
        beyond = (along > hinge)[None, :, None]
        ends = np.minimum(outer, hinge), np.maximum(outer, hinge + 1.0)
        pieces = legendre(along, inner, ends[0]), legendre(along, np.full(len(offset), hinge), ends[1])
        bows = [piece[..., 2 : 2 + PIECE_BOWS] * side for piece, side in zip(pieces, (~beyond, beyond), strict=True)]
        turn = np.broadcast_to(np.maximum(along - hinge, 0.0)[None, :, None], (*offset.shape, 1))
        columns = [whole[..., :2], *bows, turn, np.broadcast_to(beyond, turn.shape)]
        two.append(_moments(np.concatenate(columns, axis=2), offset, precision))
    normal, right = (np.array(part) for part in zip(*two, strict=True))
    return np.array(one), np.stack([_hinged((normal, right), line, bow) for bow in BOWS_MM], axis=1)


def _moments(basis: Floats, offset: Floats, precision: Floats) -> tuple[Floats, Floats]:
    """Normal equations (S, P, P), (S, P) of rows in a basis (S, R, P)."""
    weighted = (basis * precision[..., None]).transpose(0, 2, 1)
    right = weighted @ np.where(precision > 0, offset, 0.0)[..., None]
    return weighted @ basis, right[..., 0]


def _hinged(moments: tuple[Floats, Floats], line: Floats, bow: float) -> Floats:
    """Evidence (G, T, J, S) of two strokes that bow by `bow` mm, for all turns and jumps, at hinges (G,) at once."""
    bows = bow * ORDERS[:PIECE_BOWS]
    prior = np.concatenate([line, bows, SECOND * bows])
    # The second stroke starts where the first one's bow has led.
    tried = [[(turn, float(np.hypot(jump, bow))) for jump in JUMPS_MM] for turn in TURNS]
    hinges, spokes = moments[1].shape[:2]
    normal, right = (part.reshape(hinges * spokes, *part.shape[2:]) for part in moments)
    found = _evidence(normal, right, prior, np.array(tried))
    return np.moveaxis(found.reshape(*found.shape[:-1], hinges, spokes), -2, 0)


def _evidence(normal: Floats, right: Floats, prior: Floats, last: Floats | None = None) -> Floats:
    """Log evidence (..., S) of a linear Gaussian model, but for what all models share.

    `prior` (P,) holds standard deviations of the first coefficients, `last` (..., 2) those of the last two, for several
    models at once: only the two are solved anew for each.
    """
    size = len(prior)
    lower = np.linalg.cholesky(normal[:, :size, :size] + np.diag(1 / prior**2))
    rest = np.concatenate([normal[:, :size, size:], right[:, :size, None]], axis=2)
    solved = np.linalg.solve(lower, rest)
    fit = solved[..., -1]
    log = 0.5 * (fit**2).sum(1) - np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(1) - np.log(prior).sum()
    if last is None:
        return np.asarray(log, float)
    cross = solved[..., :-1]
    left = normal[:, size:, size:] - cross.transpose(0, 2, 1) @ cross
    pull = right[:, size:] - np.einsum("spk,sp->sk", cross, fit)
    a, d = (left[:, k, k] + 1 / last[..., k, None] ** 2 for k in (0, 1))
    b = left[:, 0, 1]
    determinant = a * d - b * b
    gain = (d * pull[:, 0] ** 2 - 2 * b * pull[:, 0] * pull[:, 1] + a * pull[:, 1] ** 2) / determinant
    return np.asarray(log + 0.5 * gain - 0.5 * np.log(determinant) - np.log(last).sum(-1)[..., None], float)
