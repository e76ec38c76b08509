"""A circle with gentle waves fitted to what the photo shows across it.

The path at bearing t is the circle of radius r about (x, y), exactly, plus the sum over k = 2..6 of
(a_k cos kt + b_k sin kt); small changes of it are r + x sin t - y cos t and the waves. The waves have a normal prior
whose spread is learned from the photo's rings together: a stencilled ring has none, a freehand ring has tenths of a
millimetre. With the waves in the model, r is the least-squares circle's radius also where arcs are missing, and its
covariance says what the missing arcs may hide.
"""

from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.angles import outward
from aligncheck.geometry.small import median
from aligncheck.geometry.student import widening
from aligncheck.marks.windows import Rows

Floats = NDArray[np.float64]

WAVES = 5
TERMS = 3 + 2 * WAVES
#: Order of the wave that each term belongs to; 0 for the circle itself.
ORDER = np.concatenate([[0, 0, 0], np.repeat(np.arange(2, 2 + WAVES), 2)])
#: The wave that makes an oval, and a spread that holds it to nothing, mm.
OVAL, FREE_MM = 2, 10.0
#: Bearings at which roundness is taken.
ROUND_ROWS = 360
#: The grain's integral scale: so much of a stroke is one independent value.
GRAIN_MM = 1.45
#: Tukey's biweight is zero beyond this many standard deviations.
TUKEY = 4.0
#: No chalk scatters less than this (a tenth of a pixel).
LEAST_SCATTER_MM = 0.01
#: Rows of less weight are hardly drawn.
DRAWN = 0.05
#: Rounds of weighing outliers, at most, and the change below which they stop, mm.
ROUNDS, STILL_MM = 5, 2e-4
TAILS = 3.0
PIECE_MM = 8.0


@dataclass(frozen=True)
class RingPath:
    """A ring's path about `centre_mm`, and what was last read across it.

    Attributes
    ----------
    centre_mm : ndarray (2,)
    terms : ndarray (13,)
        r, x, y, then cosine and sine of the waves of order 2 to 6, mm.
    bearings_deg : ndarray (n,)
        Where rows were read.
    rows : Rows or None
    free : ndarray (n,), bool
        Rows that no other stroke crosses.
    normal, right, base : ndarray (13, 13), (13,), (13,)
        The last fit's normal equations without the prior, in 1 / mm^2 and 1 / mm, about the terms `base`.
    scatter_mm : float
        Of full rows about the path.
    score_ratio : float
        How much more the rows pull than the fit's model expects, as a ratio of variances.
    few_ratio : float
        How much larger the variances are because few rows, or rows that disagree, had to tell the scatter.
    """

    centre_mm: Floats
    terms: Floats
    bearings_deg: Floats
    rows: Rows | None = None
    free: NDArray[np.bool_] | None = None
    normal: Floats = field(default_factory=lambda: np.zeros((TERMS, TERMS)))
    right: Floats = field(default_factory=lambda: np.zeros(TERMS))
    base: Floats = field(default_factory=lambda: np.zeros(TERMS))
    scatter_mm: float = 1.0
    score_ratio: float = 1.0
    few_ratio: float = 1.0

    @property
    def radius_mm(self) -> float:
        """Of the least-squares circle."""
        return float(self.terms[0])

    def points(self) -> tuple[Floats, Floats]:
        """Points (n, 2) of the path in panel mm and the outward normals there."""
        u = outward(self.bearings_deg)
        return self.centre_mm + distances(self.terms, len(self.bearings_deg))[:, None] * u, u

    @property
    def step_mm(self) -> float:
        """Length of the path from row to row."""
        return 2 * np.pi * self.radius_mm / len(self.bearings_deg)


def start(centre_mm: Floats, radius_mm: float, row_mm: float, fewest: int) -> RingPath:
    """A plain circle with rows about `row_mm` apart."""
    terms = np.zeros(TERMS)
    terms[0] = radius_mm
    return RingPath(centre_mm, terms, _even_bearings(radius_mm, row_mm, fewest))


def with_rows(path: RingPath, row_mm: float, fewest: int) -> RingPath:
    """The same path with rows about `row_mm` apart."""
    return replace(path, bearings_deg=_even_bearings(path.radius_mm, row_mm, fewest), rows=None, free=None)


def _even_bearings(radius_mm: float, row_mm: float, fewest: int) -> Floats:
    # Whole sixties, so that rings of all photos share a few design matrices.
    n = 60 * max(fewest // 60, round(2 * np.pi * radius_mm / row_mm / 60))
    return np.asarray(np.arange(n) * 360.0 / n, float)


@lru_cache(maxsize=128)
def design(count: int) -> Floats:
    """How each term moves the path at `count` even bearings from 12 o'clock: (count, 13)."""
    t = 2 * np.pi * np.arange(count) / count
    waves = [f(k * t) for k in range(2, 2 + WAVES) for f in (np.cos, np.sin)]
    return np.column_stack([np.ones_like(t), np.sin(t), -np.cos(t), *waves])


def distances(terms: Floats, count: int) -> Floats:
    """Distance (count,) of the path with these `terms` from the point that it is laid out about.

    A circle that stands off by d seems smaller by d^2 / 4r, and oval, where it is taken for r + x sin t - y cos t.
    """
    matrix = design(count)
    radius = max(float(terms[0]), 1e-6)
    # How far the ray of each bearing passes the circle's own centre.
    passing = np.minimum(np.abs(matrix[:, 1:3] @ (-terms[2], terms[1])), 0.9 * radius)
    return np.asarray(matrix @ terms + np.sqrt(radius**2 - passing**2) - radius, float)


def fit(path: RingPath, rows: Rows, free: NDArray[np.bool_], wave_sd: Floats) -> RingPath:
    """Move the path to where the rows say, `wave_sd` (5,) being the prior spread of each wave's terms in mm."""
    matrix = design(len(path.bearings_deg))
    weight = rows.weight * free
    if (weight > DRAWN).sum() < 5:
        return replace(path, rows=rows, free=free)
    prior = prior_precision(wave_sd) + 1e-6 * np.eye(TERMS)
    change: Floats = np.zeros(TERMS)
    change[0] = median(rows.offset_mm[weight > DRAWN])
    for _ in range(ROUNDS):
        rest = rows.offset_mm - matrix @ change
        kept, scatter = _without_outliers(rest, weight)
        # Rows closer than the grain's scale repeat each other.
        one = scatter**2 * max(GRAIN_MM / path.step_mm, 1.0)
        weighted = matrix * (kept / one)[:, None]
        normal, right = weighted.T @ matrix, weighted.T @ rows.offset_mm
        before, change = change, np.asarray(np.linalg.solve(normal + prior, right - prior @ path.terms), float)
        if np.abs(change - before).max() < STILL_MM:
            break
    rest = rows.offset_mm - matrix @ change
    return replace(
        path,
        terms=path.terms + change,
        rows=rows,
        free=free,
        normal=normal,
        right=right,
        base=path.terms,
        scatter_mm=scatter,
        score_ratio=_score_ratio(kept * rest / one, float(normal[0, 0]), path.step_mm),
        few_ratio=_few_ratio(rest, weight, scatter, path.step_mm),
    )


def _without_outliers(rest: Floats, weight: Floats) -> tuple[Floats, float]:
    """Weights with outliers taken out (Tukey's biweight), and the scatter of a row of weight 1, by the median."""
    scaled = np.abs(rest) * np.sqrt(weight)
    # Hardly drawn rows would make the scatter of the others look small.
    scatter = max(1.4826 * median(scaled[weight > DRAWN]), LEAST_SCATTER_MM)
    return weight * np.clip(1 - (scaled / (TUKEY * scatter)) ** 2, 0, 1) ** 2, scatter


def _few_ratio(rest: Floats, weight: Floats, scatter: float, step_mm: float) -> float:
    """Factor for the variances: Student's t for few rows; more where the rows left out are far more than tails.

    Over all rows the scatter is about twice the median's on a clean ring; three times is taken as clean.
    """
    everything = float(np.sqrt((weight * rest**2).sum() / weight.sum()))
    independent = (weight > DRAWN).sum() * min(step_mm / GRAIN_MM, 1.0)
    return max(1.0, everything / (TAILS * scatter)) ** 2 * widening(max(float(independent) - 3, 1.0)) ** 2


def _score_ratio(scores: Floats, expected: float, step_mm: float) -> float:
    """Variance of the radius's scores, summed over pieces of 8 mm, as a multiple of what the model expects.

    Chalk that drifts off the path for some millimetres and back again, or a scatter that the weights misjudge, shows
    here.
    """
    pieces = np.add.reduceat(scores, np.arange(0, len(scores), max(1, round(PIECE_MM / step_mm))))
    return float((pieces**2).sum() / max(expected, 1e-9))


def prior_precision(wave_sd: Floats) -> Floats:
    """Diagonal prior (13, 13), 1 / mm^2: none on the circle, `wave_sd` on the waves."""
    precision = np.zeros(TERMS)
    precision[3:] = 1 / np.maximum(np.repeat(wave_sd, 2), 1e-4) ** 2
    return np.diag(precision)


def roundness(waves: Floats) -> float:
    """Largest less smallest radial deviation in mm (ISO 12181) of a ring with these waves (10,)."""
    return float(np.ptp(design(ROUND_ROWS)[:, 3:] @ waves))


def oval(path: RingPath, wave_sd: Floats) -> tuple[Floats, Floats]:
    """The waves of order 2 (2,), mm, as the rows have them, and their covariance (2, 2): no prior holds them."""
    free = np.array([FREE_MM, *wave_sd[1:]])
    covariance = np.linalg.inv(path.normal + prior_precision(free) + 1e-9 * np.eye(TERMS))
    terms = covariance @ (path.right + path.normal @ path.base)
    return np.asarray(terms[ORDER == OVAL], float), np.asarray(covariance[np.ix_(ORDER == OVAL, ORDER == OVAL)], float)


def finer_waves(wave_sd: Floats) -> float:
    """Spread in mm of a term of the waves finer than an oval, from what `learn_waves` returned."""
    # There half of each is shared: this takes the oval's share out again.
    own = 2 * np.square(wave_sd) - np.square(wave_sd).mean()
    return float(np.sqrt(max(own[1:].mean(), 0.0)))


def learn_waves(paths: list[RingPath], rounds: int = 6) -> Floats:
    """Spread (5,) of the waves in mm over the photo's rings, by expectation and maximisation.

    Three pseudo-rings without waves keep a photo with few rings from learning its noise.
    """
    variance = np.full(WAVES, 0.1**2)
    for _ in range(rounds):
        prior = prior_precision(np.sqrt(variance))
        sums = np.full(WAVES, 6 * 0.006**2)
        for p in paths:
            inverse = np.linalg.inv(p.normal + prior + 1e-6 * np.eye(TERMS))
            mean = inverse @ (p.right + p.normal @ p.base)
            square = mean**2 + np.diag(inverse)
            sums += np.array([square[k == ORDER].sum() for k in range(2, 2 + WAVES)])
        own = sums / (2 * len(paths) + 6)
        # Half shared between the orders: a hand that wavers does so in all of them.
        variance = (own + own.mean()) / 2
    return np.sqrt(variance)
