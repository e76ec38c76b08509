"""The picture of several straight strokes along one strip, where chalk upon chalk is no brighter than chalk.

In every row the highest of the lines' boxes, each with a height of its own, blurred as one: strokes that lie side by
side leave no gap. Unknown are the spoke's path and width and the neighbours' lines. The picture steps up or down at
every edge that no higher line covers, so that the normal equations are sums over rows of what the edges add up to.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks.profile import Profile
from aligncheck.marks.stacked import shown, steps_of

Floats = NDArray[np.float64]
#: Pictures are in single precision: what it leaves out is far below their noise, and it takes half the time.
Singles = NDArray[np.float32]

#: Rows whose misfit is this many times the usual row's count half.
ROW_COST = 5.0
#: A row's height is held to the line's usual height as if by this much of a row's own evidence.
HEIGHT_PRIOR = 0.15
#: Widths of strokes of one hand and chalk differ by about this, mm per mm.
WIDTH_SD = 0.15
#: Row misfit, in parts of a stroke's area, beyond which a row is something else.
SCALE = 0.1
#: Scores are summed over pieces of this length before their variance is taken: beyond it grain is independent.
PIECE_MM = 4.0


class Partner(NamedTuple):
    """A line beside the spoke: offsets (R,) from the spoke's start line, and how well it is known, mm."""

    offset_mm: Floats
    sd_mm: float
    width_mm: float


class Picture(NamedTuple):
    """Residuals (R, M), the lines' edges (2, L, R) in mm, what the picture rises and falls by there, and the heights.

    `steps` (2, L, R): upwards at a line's first edge, downwards at its second; nought where a higher line covers it.
    `heights` (L, R): the lines' own. `misfit` (R,): squares of the residuals, and of heights unlike the usual one.
    """

    residual: Singles
    edges: Singles
    steps: Singles
    heights: Singles
    misfit: Singles


class Step(NamedTuple):
    """Normal equations about a point: `normal` (Q, Q) and `pull` (Q,) in units of `noise`, without the priors.

    `usual`: the usual row's misfit; `noise`: variance of one pixel.
    """

    normal: Floats
    pull: Floats
    usual: float
    noise: float


class StripModel:
    """One strip's data and model; parameters are the spoke's path, its width, and two per partner."""

    def __init__(
        self,
        values: Floats,
        offsets: Floats,
        basis: Floats,
        prior: Floats,
        partners: tuple[Partner, ...],
        profile: Profile,
        step: float,
    ):
        self.values, self.offsets, self.basis = values.astype(np.float32), offsets.astype(np.float32), basis
        self.partners, self.profile, self.step = partners, profile, step
        self.pixel = float(offsets[1] - offsets[0])
        u = np.linspace(-1, 1, len(values))
        self.line = np.stack([np.ones_like(u), u], axis=1)
        sds = [p.sd_mm for p in partners for _ in range(2)]
        width_sd = WIDTH_SD * profile.width_mm
        self.precision = 1 / np.concatenate([prior, [width_sd], sds]) ** 2
        self.paths = basis.shape[1]
        self.dark = quantile(self.values, 0.1)
        box = profile.height(offsets)
        #: What holds a row's height; and a line's height that shows as one unit: blur lowers it.
        self.rate, self.shown_unit = np.float32(HEIGHT_PRIOR * box @ box), 1 / float(profile.height(np.zeros(1))[0])
        #: Of every line (L,), until more is known.
        self.usual_heights = np.full(1 + len(partners), 0.8 * self.shown_unit, np.float32)

    def start(self, coefficients: Floats) -> Floats:
        """Parameters for a spoke with these coefficients, all else as expected."""
        return np.concatenate([coefficients, np.zeros(1 + 2 * len(self.partners))])

    def learn_heights(self, theta: Floats) -> None:
        """Take the lines' usual heights from what the strip shows with these parameters."""
        self.usual_heights = np.clip(medians(self.picture(theta).heights), 0.1, 1.2 * self.shown_unit)

    def _lines(self, theta: Floats) -> Singles:
        """Offsets (L, R) of the spoke and its partners."""
        shifts = theta[self.paths + 1 :].reshape(-1, 2)
        partners = [p.offset_mm + self.line @ s for p, s in zip(self.partners, shifts, strict=True)]
        return np.array([self.basis @ theta[: self.paths], *partners], np.float32)

    def picture(self, theta: Floats) -> Picture:
        """The strip as these parameters draw it."""
        blur = float(self.profile.blur_mm)
        width = max(self.profile.width_mm + float(theta[self.paths]), 0.3 * self.profile.width_mm)
        half = np.array([w / 2 for w in (width, *(p.width_mm for p in self.partners))], np.float32)
        at = self._lines(theta)
        edges = np.stack([at - half[:, None], at + half[:, None]])
        away = edges[..., None] - self.offsets
        ramps = np.asarray(normal_cdf(np.divide(away, -blur, out=away)), np.float32)
        bare = np.abs(self.offsets - at[..., None]).min(0) > 0.5 * width + 2.5 * blur
        count = bare.sum(1, dtype=np.float32)
        base = np.where(count > 3, (self.values * bare).sum(1) / np.maximum(count, 1), self.dark)
        light = self.values - base[:, None]
        heights = np.repeat(self.usual_heights[:, None], len(light), axis=1)
        for _ in range(2):
            heights = self._heights(light, shown(edges, ramps, heights))
        steps = steps_of(edges, heights)
        rise, fall = (np.einsum("lr,lrm->rm", *pair) for pair in zip(steps, ramps, strict=True))
        residual = light - rise + fall
        unlike = ((heights - self.usual_heights[:, None]) ** 2).sum(0) * self.rate
        return Picture(residual, edges, steps, heights, np.vecdot(residual, residual) + unlike)

    def _heights(self, light: Singles, parts: Singles) -> Singles:
        """Height (L, R) of every line in every row, held weakly to the line's usual height.

        `parts` (L, R, M): what of each line no higher one covers, blurred.
        """
        by_row = parts.transpose(1, 0, 2)
        normal = by_row @ by_row.transpose(0, 2, 1)
        index = np.arange(len(parts))
        normal[:, index, index] += self.rate
        right = (by_row @ light[..., None])[..., 0] + self.rate * self.usual_heights
        solved = np.linalg.solve(normal, right[..., None])[..., 0].T
        return np.asarray(np.clip(solved, 0.0, 1.5 * self.shown_unit), np.float32)

    def row_costs(self, picture: Picture) -> Floats:
        """Misfit (R,) of every row over the width of a stroke."""
        return np.asarray(picture.misfit * (self.pixel / self.profile.width_mm), float)

    def cost(self, picture: Picture, theta: Floats, step: Step) -> float:
        """Robust cost of all rows and the priors, with the noise that `step` assumes."""
        e = self.row_costs(picture) / step.usual
        data = (e / (1 + e / ROW_COST)).sum() * step.usual * self.profile.width_mm / self.pixel / step.noise
        return float(data + (theta**2 * self.precision).sum())

    def plain_cost(self, picture: Picture, theta: Floats) -> float:
        """Cost that does not depend on what the fit itself makes of the noise: to compare starts and ends by."""
        e = self.row_costs(picture)
        return float((e / (1 + e / SCALE)).sum() + 0.02 * (theta**2 * self.precision).sum())

    def coarse_costs(self, tries: Floats) -> Floats:
        """Cost of straight spokes (n, 2), the partners as expected, on rows averaged to about 25."""
        group = max(1, len(self.values) // 25)
        n = len(self.values) // group * group

        def mean(a: Floats | Singles) -> Singles:
            return np.asarray(a[:n].reshape(n // group, group, *a.shape[1:]).mean(1), np.float32)

        light = mean(self.values - self.dark[:, None])
        partners, above = np.zeros_like(light), np.zeros((len(light), 1), np.float32)
        for partner in self.partners:
            box = self._ramp(self.offsets - mean(partner.offset_mm)[:, None], partner.width_mm)
            top = ((box * light).sum(1) / np.maximum((box * box).sum(1), 1e-9))[:, None]
            top = np.clip(np.minimum(top, median(top[:, 0])), 0.0, 1.2)
            partners, above = np.maximum(partners, box * top), np.maximum(above, top)
        paths = (tries @ mean(self.basis[:, :2]).T).astype(np.float32)
        boxes = self._ramp(self.offsets - paths[..., None], self.profile.width_mm)
        own = boxes * (boxes > partners)
        shown, full = np.vecdot(own, light), np.vecdot(own, own)
        tops = np.clip(shown / (full + np.float32(0.3)), 0.0, 1.2)[..., None]
        boxes *= tops
        boxes += partners
        # Side by side they leave no gap, upon each other they are no higher than the higher one.
        residual = np.subtract(light, np.minimum(boxes, np.maximum(tops, above), out=boxes), out=boxes)
        e = np.vecdot(residual, residual) * self.pixel / self.profile.width_mm
        return np.asarray((e / (1 + e / SCALE)).sum(1), float)

    def _ramp(self, away_mm: Singles, width_mm: float) -> Singles:
        """A blurred box with straight edges, as steep as the true ones: good enough to choose starts by."""
        slope = 1 / float(np.sqrt(2 * np.pi) * self.profile.blur_mm)
        rise = np.abs(away_mm)
        rise *= -slope
        rise += 0.5 * float(width_mm) * slope + 0.5
        return np.minimum(np.maximum(rise, 0.0, out=rise), 1.0, out=rise)

    def linearised(self, picture: Picture) -> Step:
        """Gauss-Newton's normal equations, rows weighed by their misfit."""
        e = self.row_costs(picture)
        usual = max(median(e), 1e-6)
        weight = 1 / (1 + e / usual / ROW_COST) ** 2
        moved, widened = self._derivatives(picture)
        own = moved[0]
        noise = self._noise(_rows(own, own), _rows(own, picture.residual), weight)
        # What each row gains per mm: that the spoke moves, that it widens, that its partners move.
        rows = [(own, self.basis), (widened, np.ones((len(own), 1))), *((other, self.line) for other in moved[1:])]
        normal = np.concatenate([np.hstack([_product(one, other, weight) for other in rows]) for one in rows])
        pull = np.concatenate([column.T @ (weight * _rows(change, picture.residual)) for change, column in rows])
        return Step(normal / noise, pull / noise, usual, noise)

    def _derivatives(self, picture: Picture) -> tuple[Singles, Singles]:
        """What each pixel gains per mm that a line moves (L, R, M), and per mm of the spoke's width (R, M)."""
        blur = float(self.profile.blur_mm)
        bells = _bell((self.offsets - picture.edges[..., None]) / blur) * (picture.steps / blur)[..., None]
        return bells[1] - bells[0], 0.5 * (bells[0, 0] + bells[1, 0])

    def _noise(self, square: Floats, product: Floats, weight: Floats) -> float:
        """Variance of one pixel that gives the spoke's line the variance that its clustered scores show."""
        line = self.basis[:, :2]
        scores = line * (product * weight)[:, None]
        group = max(1, round(PIECE_MM / self.step))
        n = len(scores) // group * group
        pieces = scores[:n].reshape(-1, group, 2).sum(1)
        information = (line**2 * (square * weight)[:, None]).sum()
        return max(float((pieces**2).sum() / max(float(information), 1e-9)), 1e-4)


def _product(one: tuple[Singles, Floats], other: tuple[Singles, Floats], weight: Floats) -> Floats:
    """Block of the normal matrix that two lines' parameters share, each with its pixels' changes and its columns."""
    return np.asarray((one[1] * (weight * _rows(one[0], other[0]))[:, None]).T @ other[1], float)


def _rows(one: Singles, other: Singles) -> Floats:
    """Sums (R,) along the rows of the products of two pictures (R, M)."""
    return np.vecdot(one, other).astype(float)


def _bell(z: Singles) -> Singles:
    """Density of the normal distribution."""
    return np.exp(-0.5 * z * z) / float(np.sqrt(2 * np.pi))
