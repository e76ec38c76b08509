"""Which track of each side: the four that are clear and that one camera could see as the panel's rectangle."""

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import cross, median, medians
from aligncheck.lens import Lens
from aligncheck.panel.edges import PIECES as FINE_PIECES
from aligncheck.panel.known_camera import KnownCamera
from aligncheck.panel.shape import shape_of, shape_spread
from aligncheck.panel.side_search import FLOORS, PIECES, CoarseStrip, Track
from aligncheck.panel.strips import Singles, side_between

Floats = NDArray[np.float64]
Ends = list[tuple[Floats, Floats]]

#: Worth (log odds) of a track's strength, 0 to 1.3.
STRENGTH_WORTH = 8.0
#: Worth (log odds per factor e) of the median step's height, and at most.
HEIGHT_WORTH, HEIGHT_LIMIT = 2.0, 3.0
#: A strip between two tracks that differs from the panel by more scatters than this is not the panel; what that is
#: worth (log odds per factor e) and at most, for and against the outer track.
FOREIGN, FOREIGN_WORTH, FOREIGN_LIMITS = 4.5, 3.0, (-2.0, 4.0)
#: Another track is a rival edge if it is this strong against the chosen one, not so close (units) that it may be the
#: same edge's colour, and near if within this.
RIVAL, CLOSE, NEAR = 0.6, 3.5, 10.0
#: Share of a colour difference that JPEG smears across a few pixels.
BLEED = 0.42
#: A coarse track is right to about this (units of a pixel).
COARSE_SD = 2.5
#: Shape speaks as chi-squared up to here: beyond, a start that is wrong altogether should not decide by noise.
MOST_CHI2 = 40.0


def crossings(ends: Ends, tracks: list[Track], lens: Lens) -> Floats:
    """Corners (4, 2) in px where one track of each side crosses the next."""
    lines = [_straight_lines(pair, [track], lens) for pair, track in zip(ends, tracks, strict=True)]
    return lens.bend(np.array([_met(lines[i - 1], lines[i])[0, 0] for i in range(4)]))


def _straight_lines(pair: tuple[Floats, Floats], tracks: list[Track], lens: Lens) -> Floats:
    """The lines (k, 3) in undistorted coordinates of several tracks of one side."""
    shares = np.array([0.02, 0.98])
    side = side_between(*pair, lens, shares)
    offsets = np.array([t.first_px + shares * (t.second_px - t.first_px) for t in tracks])
    ends = lens.unbend(np.stack(side.at(offsets.T), axis=-1))
    ends = np.concatenate([ends, np.ones((*ends.shape[:2], 1))], axis=-1)
    return cross(ends[0], ends[1])


def _met(before: Floats, after: Floats) -> Floats:
    """Where lines (k, 3) meet the lines (m, 3) of the next side: (k, m, 2)."""
    points = cross(before[:, None], after[None])
    return np.asarray(points[..., :2] / points[..., 2:], float)


def choose_tracks(
    ends: Ends,
    strips: list[CoarseStrip],
    candidates: list[list[Track]],
    bows: list[Floats],
    camera: KnownCamera,
    lens: Lens,
    size_mm: tuple[float, float],
    reach_px: float,
    unit: float,
) -> list[Track]:
    """The best combination of one track a side (`lens` already bent as the tracks are)."""
    worth = [side_worth(s, c, b) + start_worth(c, reach_px) for s, c, b in zip(strips, candidates, bows, strict=True)]
    if all(len(c) == 1 for c in candidates):
        return [c[0] for c in candidates]
    lines = [_straight_lines(pair, tracks, lens) for pair, tracks in zip(ends, candidates, strict=True)]
    # Each corner hangs on two sides only: all that there are, before they are put together.
    corners = [_met(lines[i - 1], lines[i]) for i in range(4)]
    a, b, c, d = (pick.ravel() for pick in np.meshgrid(*(np.arange(len(w)) for w in worth), indexing="ij"))
    straight = np.stack([corners[0][d, a], corners[1][a, b], corners[2][b, c], corners[3][c, d]], axis=1)
    spread = shape_spread(lens.bend(straight[0]), lens, camera, size_mm, COARSE_SD * unit)
    r = shape_of(straight, *size_mm)
    chi2 = (r @ np.linalg.inv(spread) * r).sum(axis=1)
    value = worth[0][a] + worth[1][b] + worth[2][c] + worth[3][d] - np.minimum(chi2, MOST_CHI2) / 2
    best = int(np.argmax(np.where(np.isnan(value), -np.inf, value)))
    return [tracks[pick[best]] for tracks, pick in zip(candidates, (a, b, c, d), strict=True)]


def start_worth(tracks: list[Track], reach_px: float) -> Floats:
    """Log odds of each track by its distance from the start, whose spread is taken as half the reach."""
    ends = np.array([[t.first_px, t.second_px] for t in tracks])
    return np.asarray(-0.5 * ((ends / (reach_px / 2)) ** 2).sum(axis=1), float)


def next_outside(track: Track, candidates: list[Track], unit: float) -> Floats | None:
    """How far (px, at PIECES of the fine fit) the nearest other strong track lies outside, or None if none is near."""
    shares = (np.arange(FINE_PIECES) + 0.5) / FINE_PIECES
    nearest: Floats | None = None
    for other in candidates:
        ends = np.array([other.first_px - track.first_px, other.second_px - track.second_px])
        if other.strength < RIVAL * track.strength or ends.min() < CLOSE * unit or ends.mean() > NEAR * unit:
            continue
        apart = ends[0] + shares * (ends[1] - ends[0])
        nearest = apart if nearest is None else np.minimum(nearest, apart)
    return nearest


def side_worth(strip: CoarseStrip, tracks: list[Track], bow: Floats) -> Floats:
    """Log odds of each track of a side, by its own evidence.

    Going outward from track to track: where the strip between two of them is not like the panel, the panel ended
    before it; where it is, the inner one is only something on the panel.
    """
    strength = np.array([t.strength for t in tracks])
    lines = [t.line(bow) for t in tracks]
    heights = np.array([_height(strip, line) for line in lines])
    # Strength tells a side from a spot of glare; the height tells the edge from its bleeding colour beside it.
    worth = STRENGTH_WORTH * (strength - strength.max())
    worth += np.maximum(HEIGHT_WORTH * np.log(heights / heights.max()), -HEIGHT_LIMIT)
    order = np.argsort([median(line) for line in lines])
    gained = 0.0
    if len(tracks) > 1:
        foreign = foreignness(strip, np.array(lines)[order[:-1]], np.array(lines)[order[1:]])
        for outer, unlike in zip(order[1:], foreign, strict=True):
            gained -= float(np.clip(FOREIGN_WORTH * np.log(unlike / FOREIGN), *FOREIGN_LIMITS))
            worth[outer] += gained
    return np.asarray(worth, float)


def _height(strip: CoarseStrip, line: Floats) -> float:
    """Median over the pieces of the step along a track, in scatters of the panel."""
    steps = strip.heights[np.arange(PIECES), strip.index(line)] / strip.scatter
    return median(np.linalg.norm(steps, axis=1)) + 0.5


def foreignness(strip: CoarseStrip, inner: Floats, outer: Floats) -> Floats:
    """How unlike the panel (inside `inner`) the strips between two tracks (k, PIECES) are, in scatters of the panel."""
    unit = strip.unit_px
    gap = np.minimum(1.5 * unit, (outer - inner) / 3)
    between = medians(_band(strip, inner + gap, outer - gap, 6))
    panel_pixels = _band(strip, inner - 16 * unit, inner - 3 * unit, 14)
    panel = medians(panel_pixels)
    beyond = medians(_band(strip, outer + 3 * unit, outer + 10 * unit, 8))
    scatter = 1.48 * medians(np.abs(panel_pixels - panel[..., None]).reshape(3, len(inner), -1))
    scatter = np.maximum(scatter, FLOORS[:, None])
    differs = medians(np.abs(between - panel) / scatter[..., None])
    reaches = medians(np.abs(beyond - panel) / scatter[..., None])
    # The colour of what lies beyond bleeds inwards through JPEG's coarse colour: only more than that counts.
    differs[1:] = np.maximum(differs[1:] - BLEED * reaches[1:], 0)
    return np.maximum(np.sqrt((differs * differs).sum(axis=0)), 0.1)


def _band(strip: CoarseStrip, low: Floats, high: Floats, count: int) -> Singles:
    """`count` samples of each piece from offsets `low` to `high` (k, PIECES): (3, k, PIECES, count)."""
    lines = low[..., None] + (high - low)[..., None] * np.linspace(0, 1, count)
    # Each channel's values side by side, so that a sort finds their medians.
    return np.ascontiguousarray(strip.log_light[np.arange(PIECES)[:, None], strip.index(lines)].transpose(3, 0, 1, 2))
