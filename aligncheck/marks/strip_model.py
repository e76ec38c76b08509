"""The picture of several straight strokes along one strip, where chalk upon chalk is no brighter than chalk.

In every row the brightest of the lines' blurred boxes, each with a height of its own; unknown are the spoke's path and
width and the neighbours' lines. Every pixel depends on the parameters through the one line on top there, so that the
normal equations are sums over rows of what the row's pixels add up to.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.normal import normal_cdf
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks.profile import Profile

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
    """Residuals (R, M), which line is on top of each pixel, the lines' heights (L, R), and what shapes the top one.

    `away_mm` (R, M): distance from the line on top; `half_mm` (L,): half the lines' widths.
    """

    residual: Singles
    top: NDArray[np.intp]
    away_mm: Singles
    heights: Singles
    half_mm: Singles


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
        #: Of every line (L,), until more is known.
        self.usual_heights = np.full(1 + len(partners), 0.8, np.float32)

    def start(self, coefficients: Floats) -> Floats:
        """Parameters for a spoke with these coefficients, all else as expected."""
        return np.concatenate([coefficients, np.zeros(1 + 2 * len(self.partners))])

    def learn_heights(self, theta: Floats) -> None:
        """Take the lines' usual heights from what the strip shows with these parameters."""
        self.usual_heights = np.clip(medians(self.picture(theta).heights), 0.1, 1.2)

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
        away = self.offsets - self._lines(theta)[..., None]
        # Both edges of all lines at once.
        edges = np.empty((2, *away.shape), np.float32)
        np.add(away, half[:, None, None], out=edges[0])
        np.subtract(away, half[:, None, None], out=edges[1])
        edges = normal_cdf(np.divide(edges, blur, out=edges))
        boxes = edges[0] - edges[1]
        bare = np.abs(away).min(0) > 0.5 * width + 2.5 * blur
        count = bare.sum(1, dtype=np.float32)
        base = np.where(count > 3, (self.values * bare).sum(1) / np.maximum(count, 1), self.dark)
        light = self.values - base[:, None]
        heights = self._heights(light, boxes)
        scaled = boxes * heights[..., None]
        top, shown, distance = np.zeros(light.shape, np.intp), scaled[0], away[0]
        for k in range(1, len(scaled)):
            above = scaled[k] > shown
            top[above] = k
            shown, distance = np.where(above, scaled[k], shown), np.where(above, away[k], distance)
        return Picture(light - shown, top, distance, heights, half)

    def _heights(self, light: Singles, boxes: Singles) -> Singles:
        """Height (L, R) of every line in every row, held weakly to the line's usual height."""
        usual = self.usual_heights[:, None]
        heights = np.repeat(usual, boxes.shape[1], axis=1)
        rate = np.float32(HEIGHT_PRIOR) * np.vecdot(boxes, boxes).max(1)[:, None]
        for _ in range(2):
            scaled = boxes * heights[..., None]
            own = boxes * (scaled >= scaled.max(0))
            shown, full = np.vecdot(own, light), np.vecdot(own, own)
            heights = np.minimum(np.maximum((shown + rate * usual) / (full + rate), 0.0), 1.5)
        return heights

    def row_costs(self, residual: Singles) -> Floats:
        """Misfit (R,) of every row: squared residual over the width of a stroke."""
        return _rows(residual, residual) * self.pixel / self.profile.width_mm

    def cost(self, picture: Picture, theta: Floats, step: Step) -> float:
        """Robust cost of all rows and the priors, with the noise that `step` assumes."""
        e = self.row_costs(picture.residual) / step.usual
        data = (e / (1 + e / ROW_COST)).sum() * step.usual * self.profile.width_mm / self.pixel / step.noise
        return float(data + (theta**2 * self.precision).sum())

    def plain_cost(self, picture: Picture, theta: Floats) -> float:
        """Cost that does not depend on what the fit itself makes of the noise: to compare starts and ends by."""
        e = self.row_costs(picture.residual)
        return float((e / (1 + e / SCALE)).sum() + 0.02 * (theta**2 * self.precision).sum())

    def coarse_costs(self, tries: Floats) -> Floats:
        """Cost of straight spokes (n, 2), the partners as expected, on rows averaged to about 25."""
        group = max(1, len(self.values) // 25)
        n = len(self.values) // group * group

        def mean(a: Floats | Singles) -> Singles:
            return np.asarray(a[:n].reshape(n // group, group, *a.shape[1:]).mean(1), np.float32)

        light = mean(self.values - self.dark[:, None])
        partners = np.zeros_like(light)
        for partner in self.partners:
            box = self._ramp(self.offsets - mean(partner.offset_mm)[:, None], partner.width_mm)
            top = ((box * light).sum(1) / np.maximum((box * box).sum(1), 1e-9))[:, None]
            partners = np.maximum(partners, box * np.clip(np.minimum(top, median(top[:, 0])), 0.0, 1.2))
        paths = (tries @ mean(self.basis[:, :2]).T).astype(np.float32)
        boxes = self._ramp(self.offsets - paths[..., None], self.profile.width_mm)
        own = boxes * (boxes > partners)
        shown, full = np.vecdot(own, light), np.vecdot(own, own)
        boxes *= np.clip(shown / (full + np.float32(0.3)), 0.0, 1.2)[..., None]
        residual = np.subtract(light, np.maximum(boxes, partners, out=boxes), out=boxes)
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
        e = self.row_costs(picture.residual)
        usual = max(median(e), 1e-6)
        weight = 1 / (1 + e / usual / ROW_COST) ** 2
        moved, widened = self._derivatives(picture)
        spoke = picture.top == 0
        own = moved * spoke
        columns, sums = [self.basis], [(_rows(own, own), _rows(own, picture.residual))]
        noise = self._noise(sums[0][0], sums[0][1], weight)
        for k in range(1, len(picture.heights)):
            other = moved * (picture.top == k)
            columns.append(self.line)
            sums.append((_rows(other, other), _rows(other, picture.residual)))
        normal, pull = self._assembled(columns, sums, weight)
        # The width's own row and column: it shares pixels with the spoke's path only.
        w = self.paths
        shared = self.basis.T @ (weight * _rows(own, widened))
        normal[w, :w] = normal[:w, w] = shared
        normal[w, w] = weight @ _rows(widened, widened)
        pull[w] = weight @ _rows(widened, picture.residual)
        return Step(normal / noise, pull / noise, usual, noise)

    def _derivatives(self, picture: Picture) -> tuple[Singles, Singles]:
        """What each pixel (R, M) gains per mm that its top line moves, and per mm of the spoke's width."""
        blur = float(self.profile.blur_mm)
        half, height = picture.half_mm[picture.top], picture.heights[picture.top, np.arange(len(picture.top))[:, None]]
        rising, falling = (_bell((picture.away_mm + h) / blur) for h in (half, -half))
        height /= blur
        return (falling - rising) * height, (rising + falling) * height * (0.5 * (picture.top == 0)).astype(np.float32)

    def _assembled(
        self, columns: list[Floats], sums: list[tuple[Floats, Floats]], weight: Floats
    ) -> tuple[Floats, Floats]:
        """Normal matrix (Q, Q) and right side (Q,) of lines that share no pixel; nought for the width."""
        size = len(self.precision)
        normal, pull = np.zeros((size, size)), np.zeros(size)
        at = 0
        for column, (square, product) in zip(columns, sums, strict=True):
            part = slice(at, at + column.shape[1])
            normal[part, part] = (column * (weight * square)[:, None]).T @ column
            pull[part] = column.T @ (weight * product)
            at = part.stop + (1 if at == 0 else 0)
        return normal, pull

    def _noise(self, square: Floats, product: Floats, weight: Floats) -> float:
        """Variance of one pixel that gives the spoke's line the variance that its clustered scores show."""
        line = self.basis[:, :2]
        scores = line * (product * weight)[:, None]
        group = max(1, round(PIECE_MM / self.step))
        n = len(scores) // group * group
        pieces = scores[:n].reshape(-1, group, 2).sum(1)
        information = (line**2 * (square * weight)[:, None]).sum()
        return max(float((pieces**2).sum() / max(float(information), 1e-9)), 1e-4)


def _rows(one: Singles, other: Singles) -> Floats:
    """Sums (R,) along the rows of the products of two pictures (R, M)."""
    return np.vecdot(one, other).astype(float)


def _bell(z: Singles) -> Singles:
    """Density of the normal distribution."""
    return np.exp(-0.5 * z * z) / float(np.sqrt(2 * np.pi))
