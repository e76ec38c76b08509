"""A panel inside an outline: four tracks that together are a W x H rectangle in front of this camera."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.geometry.small import cross
from aligncheck.panel.bands import MOST_PX, TRIMMED, Band, bands_of
from aligncheck.panel.panel import Panel
from aligncheck.panel.rectangle import shape_misfit
from aligncheck.panel.tracks import Track, find_tracks

Floats = NDArray[np.float64]

#: Believed from here on: right outlines have shown at most 3.8 inside themselves, nested ones 5.3 and more.
BELIEVED = 5.0
#: What the given side counts where the panel's own side lies on it.
GIVEN_SCORE = 0.75
#: Log ratio and cosine of the axes: one scatter, with what a rough track gets wrong.
SHAPE_SD = 0.006


class Nested(NamedTuple):
    """An outline inside another: corners in photo pixels, score, and how many of its sides are new."""

    corners_px: Floats
    score: float
    new_sides: int


def nested_outlines(
    pixels: NDArray[np.uint8],
    panel: Panel,
    *,
    depth: float = 0.15,
    turn_deg: float = 3.6,
    turn_step_deg: float = 0.15,
    most_px: int = MOST_PX,
    given: bool = True,
    lines_out: bool = True,
    trimmed: int = TRIMMED,
    least: float = BELIEVED,
    deepest_mm: tuple[float, ...] = (np.inf,) * 4,
) -> list[Nested]:
    """Outlines inside `panel` with a score of `least` or more, best first, each different by 1 % of the side.

    `given`: the panel's present sides are edges themselves, and up to two of them may be right; without it all four
    are looked for (a rough, widened outline). Of each side's band nothing deeper than `deepest_mm` is looked at.
    """
    bands = bands_of(pixels, panel, depth=depth, most_px=most_px)
    blind = 4 if given else 0
    tracks = []
    for band, deepest in zip(bands, deepest_mm, strict=True):
        found = find_tracks(
            band if np.isinf(deepest) else band.down_to(deepest),
            blind_px=blind,
            turn_deg=turn_deg,
            turn_step_deg=turn_step_deg,
            lines_out=lines_out,
            trimmed=trimmed,
        )
        if given:
            found.append(Track(0.0, 0.0, 0.0, np.zeros(4, np.float32), given=True))
        tracks.append(found)
    if not all(tracks):
        return []
    return _combine(tracks, bands, panel, least)


def _combine(tracks: list[list[Track]], bands: list[Band], panel: Panel, least: float) -> list[Nested]:
    """Judge one track of each side together: all choices at once, on a grid with one axis a side."""
    table = [np.array([(t.depth_px, t.slope, t.strength, t.given) for t in side]) for side in tracks]
    steps = np.asarray(_on_grid([np.array([t.step for t in side]) for side in tracks]), float)
    new = 4 - np.asarray(_on_grid([side[:, 3] for side in table])).astype(int)
    clear = [np.minimum(side[:, 2], 1.2) + 1 - np.exp(-((side[:, 2] / 0.55) ** 4)) for side in table]
    score = _on_grid([np.where(side[:, 3] > 0, GIVEN_SCORE, one) for side, one in zip(table, clear, strict=True)])
    score = score + 1.2 * np.sqrt((steps * steps).sum(-1)) / np.maximum(new, 1)
    choices = np.argwhere((new >= 2) & (score >= least))
    if not len(choices):
        return []
    chosen = np.stack([table[k][choices[:, k]] for k in range(4)], axis=1)
    score, new = score[tuple(choices.T)], new[tuple(choices.T)]
    corners_mm = _corners(chosen, bands, panel)
    ratio, cosine = shape_misfit(panel, corners_mm)
    score = score - 0.5 * np.minimum((ratio / SHAPE_SD) ** 2 + (cosine / SHAPE_SD) ** 2, 16)
    return _different(corners_mm, score, new, panel, least)


def _on_grid(sides: list[NDArray[np.floating]]) -> NDArray[np.floating]:
    """Sums (k0, k1, k2, k3, ...) of one row (...) of each of four arrays (k, ...)."""
    top, right, bottom, left = sides
    upper = top[:, None] + right[None]
    return np.asarray(upper[:, :, None, None] + (bottom[:, None] + left[None])[None, None])


def _different(corners_mm: Floats, score: Floats, new: NDArray[np.int_], panel: Panel, least: float) -> list[Nested]:
    kept: list[int] = []
    apart = 0.01 * min(panel.width_mm, panel.height_mm)
    for k in np.argsort(-score):
        if score[k] < least or len(kept) == 4:
            break
        if all(np.abs(corners_mm[k] - corners_mm[j]).max() > apart for j in kept):
            kept.append(int(k))
    return [Nested(panel.to_photo(corners_mm[k]), float(score[k]), int(new[k])) for k in kept]


def _corners(chosen: Floats, bands: list[Band], panel: Panel) -> Floats:
    """Corners (m, 4, 2) in mm of the outline, from depth and slope of the top, right, bottom and left track."""
    half = np.array([panel.width_mm, panel.height_mm]) / 2
    lines = []
    # Quarter turns anticlockwise bring right, bottom and left to the top; undo them for points on the track.
    back = [np.eye(2), np.array([[0.0, -1], [1, 0]]), -np.eye(2), np.array([[0.0, 1], [-1, 0]])]
    for k in range(4):
        long, deep = (half[0], half[1]) if k % 2 == 0 else (half[1], half[0])
        depth = chosen[:, k, 0] / bands[k].px_per_mm
        rise = chosen[:, k, 1] * long
        a = np.stack([np.full(len(depth), -long), depth - rise - deep], -1) @ back[k].T
        b = np.stack([np.full(len(depth), long), depth + rise - deep], -1) @ back[k].T
        one = np.ones((len(depth), 1))
        lines.append(cross(np.hstack([a, one]), np.hstack([b, one])))
    points = [cross(lines[k - 1], lines[k]) for k in range(4)]
    return np.stack([p[:, :2] / p[:, 2:] for p in points], axis=1)
