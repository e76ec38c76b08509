"""All sides of a row laid on one another: one sharp picture of the side that they share, tip to base."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.rows.chalk_map import ChalkMap
from aligncheck.rows.fit import RowFit, tensors, worth
from aligncheck.rows.shapes import TERMS, bow_slopes, bow_terms, stations, step_lengths

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Pixels of a strip, mm; how far it goes beyond tip and base, and across.
STEP_MM, BEYOND_MM, ACROSS_MM = 0.3, 7.0, 5.0
#: Points along a side, and how far across it chalk is looked for, round after round, mm.
POINTS, WINDOWS_MM = 40, (1.8, 1.2, 0.9, 0.7, 0.6)
#: The tip is tried this far out (and in, negative) along the axis, mm.
TIPS_MM = np.arange(-3.0, 6.01, 0.5)
#: A point's weight against the priors, per mm^2: chalk's middle is known to half a stroke's width.
WEIGHT, BASE_SD_MM = 8.0, 1.5
#: Bases tried, as shares of the side that was found.
CUTS = (1.0, 0.92, 0.84, 0.76)
#: How often one bow for all rows and their tips and bases are fitted in turn.
COMMON_ROUNDS = 4
#: How much bows differ from maker to maker.
BOW_SD = np.array([0.15, 0.12, 0.2, 0.04])
#: A round end must explain so much more than a point, and rows of their own shapes more than one shape for all, mm of
#: side each: without need, nothing is round and one template made all rows. On 21 of 22 pointed rows a round end
#: explained -0.2 to 0.2 mm more (once 0.38), on round ones from 0.4 on.
ROUND_GAIN_MM, OWN_GAIN_MM = 0.3, 0.5


@dataclass(frozen=True)
class Strip:
    """The mean side of a row in its chord's frame: x from tip to base, y away from the axis, mm.

    Attributes
    ----------
    tensor : ndarray (across, along, 4), float32
        xx, xy, yy and what can be seen.
    length_mm : float
        Of the chord.
    inward : ndarray (2,)
        Unit vector along the petal's axis towards the centre.
    level : float
        Evidence of the row's usual stroke.
    """

    tensor: Singles
    length_mm: float
    inward: Floats
    level: float

    def evidence(self, points: Floats, normals: Floats) -> Singles:
        """Evidence and what of it can be seen (2, ...) at points with unit normals (..., 2)."""
        shape = points.shape[:-1]
        x = ((points[..., 0] + BEYOND_MM) / STEP_MM).astype(np.float32).reshape(len(points), -1)
        y = ((points[..., 1] + ACROSS_MM) / STEP_MM).astype(np.float32).reshape(len(points), -1)
        xx, xy, yy, seen = cv2.split(cv2.remap(self.tensor, x, y, cv2.INTER_LINEAR))
        # One normal may serve for all points of a line.
        n = normals.reshape(len(points), -1, 2)
        u, v = n[..., 0], n[..., 1]
        both = np.empty((2, *x.shape), np.float32)
        both[0] = np.maximum(u * u * xx + 2 * u * v * xy + v * v * yy, 0)
        both[1] = seen
        return both.reshape(2, *shape)


@dataclass(frozen=True)
class Side:
    """A curve in a strip: tip, base (2,), bow; and what it explains, mm."""

    tip: Floats
    base: Floats
    bow: Floats
    gain: float = 0.0

    def curve(self, t: Floats) -> tuple[Floats, Floats]:
        """Points and unit normals (n, 2)."""
        chord = self.base - self.tip
        out = np.array([-chord[1], chord[0]])
        points = self.tip + t[:, None] * chord + (bow_terms(t) @ self.bow)[:, None] * out
        tangent = chord + (bow_slopes(t) @ self.bow)[:, None] * out
        return points, tangent[:, ::-1] * (-1, 1) / np.hypot(tangent[:, 0], tangent[:, 1])[:, None]


def strip_of(chalk: ChalkMap, fit: RowFit) -> Strip:
    """Lay both sides of all petals on one another, tip on tip and base on base."""
    tip = fit.numbers[:, None, 0:2]
    chord = np.stack([fit.numbers[:, 2:4], fit.numbers[:, 4:6]], 1) - tip
    length = np.linalg.norm(chord, axis=-1, keepdims=True)
    mean = float(np.median(length))
    along = chord / length
    out = np.stack([-along[..., 1], along[..., 0]], -1) * np.array([1.0, -1.0])[:, None]
    x = np.arange(-BEYOND_MM, mean + BEYOND_MM, STEP_MM)
    y = np.arange(-ACROSS_MM, ACROSS_MM + 0.35 * mean, STEP_MM)
    stretch = (length / mean)[..., None]
    points = tip[:, :, None, None] + stretch[..., None] * (
        x[:, None] * along[:, :, None, None] + y[:, None, None] * out[:, :, None, None]
    )
    tensor = tensors(chalk, fit.frame, points)
    # From the axis' frame into each chord's.
    a, o = along[:, :, None, None], out[:, :, None, None]
    xx, xy, yy, seen = np.moveaxis(tensor, -1, 0)

    def component(p: Floats, q: Floats) -> Floats:
        both = p[..., 0] * q[..., 1] + p[..., 1] * q[..., 0]
        return np.asarray((p[..., 0] * q[..., 0] * xx + both * xy + p[..., 1] * q[..., 1] * yy).mean((0, 1)), float)

    mean_tensor = np.dstack([component(a, a), component(a, o), component(o, o), seen.mean((0, 1))])
    inward = -along[..., 1].mean(), -np.abs(along[..., 0]).mean()
    return Strip(
        mean_tensor.astype(np.float32), mean, np.array(inward) / np.hypot(*inward), max(float(fit.support.mean()), 0.3)
    )


def first_side(strip: Strip, bow: Sequence[float]) -> Side:
    """The side as it was found."""
    return Side(np.zeros(2), np.array([strip.length_mm, 0.0]), np.array(bow, float))


def explained(strip: Strip, side: Side) -> float:
    """Length of chalk along the side, mm, less what a bare panel would have needed."""
    return float(_explained_by_point(strip, side, stations(3 * POINTS)).sum())


def _explained_by_point(strip: Strip, side: Side, t: Floats) -> Floats:
    points, normals = side.curve(t)
    found, seen = strip.evidence(points[:, None], normals[:, None])[..., 0]
    length = step_lengths(points)
    return np.asarray(worth(found, seen, strip.level) * length, float)


def base_share(strip: Strip, side: Side) -> float:
    """Share of the chord at which the chalk ends on the base's side."""
    t = np.linspace(0.55, 1.1, 56)
    total = np.cumsum(_explained_by_point(strip, side, t))
    return float(t[int(total.argmax())])


def fit_bow(
    strips: Sequence[Strip], side_of: Sequence[Side], rounded: bool, windows_mm: Sequence[float] = WINDOWS_MM
) -> list[Side]:
    """Fit one bow to the sides of several rows at once, and their bases across; tips stay."""
    now = [side if rounded else replace(side, bow=_pointed(side.bow)) for side in side_of]
    prior = np.concatenate([1 / BOW_SD**2, np.full(len(now), BASE_SD_MM**-2)])
    prior[2] = prior[2] if rounded else 1e9
    for window in windows_mm:
        bow = now[0].bow
        normal = np.diag(prior)
        right = -prior * np.concatenate([bow, [side.base[1] for side in now]])
        for k, (strip, side) in enumerate(zip(strips, now, strict=True)):
            a, weight, offset = _rows_of_equations(strip, side, window, k, len(now))
            normal = normal + a.T @ (weight[:, None] * a)
            right = right + a.T @ (weight * offset)
        step = np.linalg.solve(normal, right)
        now = [replace(s, bow=bow + step[:TERMS], base=s.base + (0, d)) for s, d in zip(now, step[TERMS:], strict=True)]
    return now


def _rows_of_equations(
    strip: Strip, side: Side, window_mm: float, row: int, rows: int
) -> tuple[Floats, Floats, Floats]:
    """Where chalk lies across a side: derivatives by bow and bases (points, TERMS + rows), weight, offset."""
    t = stations(POINTS)
    steps = np.arange(-window_mm, window_mm + 1e-6, 0.2)
    points, normals = side.curve(t)
    spread = points[:, None] + steps[:, None] * normals[:, None]
    found, _ = strip.evidence(spread, normals[:, None])
    near = found**2 * np.exp(-0.5 * (steps / (0.6 * window_mm)) ** 2)
    offset = (near * steps).sum(1) / np.maximum(near.sum(1), 1e-9)
    chord = side.base - side.tip
    out = np.array([-chord[1], chord[0]])
    a = np.zeros((len(t), TERMS + rows))
    a[:, :TERMS] = (normals @ out)[:, None] * bow_terms(t)
    a[:, TERMS + row] = normals[:, 1] * t
    return a, found.max(1) * WEIGHT, offset


def _pointed(bow: Floats) -> Floats:
    """The nearest bow without a round end: of its rise and lean the first two terms take most."""
    return np.array([bow[0] + 0.95 * bow[2], bow[1] + 0.35 * bow[2], 0.0, bow[3]])


def with_tip(strip: Strip, side: Side, out_mm: float) -> Side:
    """The side with its tip so far out along the axis."""
    return replace(side, tip=-out_mm * strip.inward)


def own_side(strip: Strip, bow: Sequence[float], rounded: bool) -> Side:
    """The best side of a row on its own."""
    tries = []
    for out in TIPS_MM:
        (side,) = fit_bow([strip], [with_tip(strip, first_side(strip, bow), out)], rounded)
        tries.append(replace(side, gain=explained(strip, side)))
    return max(tries, key=lambda one: one.gain)


def common_sides(strips: Sequence[Strip], own: Sequence[Side], bow: Floats, rounded: bool) -> list[Side]:
    """The best sides of several rows that share their bow, from a first one; `own` are their sides with a bow each.

    Tips and bases that suit a bow, and the bow that suits these, in turns: the first turn seldom gets there.
    """
    best: list[Side] = []
    for _ in range(COMMON_ROUNDS):
        sides = [_best_with_bow(strip, side, bow) for strip, side in zip(strips, own, strict=True)]
        if not best or sum(s.gain for s in sides) > sum(s.gain for s in best):
            best = sides
        bow = fit_bow(strips, sides, rounded, WINDOWS_MM[2:])[0].bow
    return best


def _best_with_bow(strip: Strip, own: Side, bow: Floats) -> Side:
    """The best tip and base of a row whose bow is known.

    Bases were found by where chalk ends; where another stroke goes on from there they lie too far in, so nearer ones
    are tried too. What the row's own side explains beyond them is then others' chalk, and counts.
    """
    best = replace(own, bow=bow, gain=-np.inf)
    t = np.linspace(0.5, 1.0, 51)
    beyond = np.cumsum(_explained_by_point(strip, own, t)[::-1])[::-1]
    bases, _ = own.curve(np.array(CUTS))
    for cut, base in zip(CUTS, bases, strict=True):
        rest = float(beyond[np.searchsorted(t, cut)]) if cut < 1 else 0.0
        for out in TIPS_MM[::2]:
            best = max(best, _settled(strip, Side(-out * strip.inward, base, bow), rest), key=lambda one: one.gain)
    for step in (-0.5, 0.5, -0.25, 0.25):
        near = replace(best, tip=best.tip - step * strip.inward)
        extra = best.gain - explained(strip, best)
        best = max(best, _settled(strip, near, extra), key=lambda one: one.gain)
    return best


def _settled(strip: Strip, side: Side, extra: float) -> Side:
    """The side with its base moved across onto the chalk, and its gain."""
    for window in WINDOWS_MM[1::2]:
        a, weight, offset = _rows_of_equations(strip, side, window, 0, 1)
        slope = a[:, TERMS]
        step = (weight * slope * offset).sum() / ((weight * slope**2).sum() + BASE_SD_MM**-2)
        side = replace(side, base=side.base + (0, step))
    return replace(side, gain=explained(strip, side) + extra)


def best_sides(strips: Sequence[Strip], bows: Sequence[Sequence[float]]) -> list[Side]:
    """Sides of all rows: of one shape where that explains as much as shapes of their own, pointed where that does."""
    kinds = {kind: [own_side(s, b, kind) for s, b in zip(strips, bows, strict=True)] for kind in (False, True)}
    own = [r if r.gain > p.gain + ROUND_GAIN_MM else p for p, r in zip(kinds[False], kinds[True], strict=True)]
    if len(strips) == 1:
        return own
    best, most = own, sum(s.gain - OWN_GAIN_MM for s in own)
    for rounded in (False, True):
        for start in kinds[rounded]:
            sides = common_sides(strips, own, start.bow, rounded)
            gain = sum(s.gain - (ROUND_GAIN_MM if rounded else 0.0) for s in sides)
            if gain > most:
                best, most = sides, gain
    return best
