"""Lines seen through glass: they are not hidden, but seen beside their place, the more the more aslant they are seen.

A sight line that enters a plate of thickness t meets the panel short of where it would have: by t (1 - 1/n) times its
slope, straight away from the camera's foot (Snell's law, slopes small; n of glass is 1.5). One number, the depth
t (1 - 1/n), thus says how far every line within the piece's outline is moved and which way; no hand draws like that.
"""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import cube_root_colours
from aligncheck.centrepiece.sampling import sample
from aligncheck.centrepiece.window import Floats
from aligncheck.geometry.angles import outward
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks import Marks
from aligncheck.photo import Photo

#: A place on a line is the mean of so much of it, mm, taken at this step; its profile goes so far to both sides.
CELL_MM, STEP_MM = 2.0, 1.0
ACROSS_MM, FINE_MM, BARE_MM = 2.0, 0.2, 1.3
#: Spokes are followed from here outwards, mm.
INNERMOST_MM = 3.0
#: A place counts that shows this share of the usual step, and whose line is found this near, mm.
LEAST_STEP, NEAR_MM = 0.3, 1.6
#: Places are smoothed by the median of so many neighbours along their line: a speck or a crossing moves one or two.
NEIGHBOURS = 5
#: A line says something that has so many places at least inside and outside.
INSIDE, OUTSIDE, LINES = 2, 4, 6
#: A line's own pull is never known better than from places this far off, mm.
PLACE_MM = 0.04

Bools = NDArray[np.bool_]


class Shifts(NamedTuple):
    """Where known lines are seen, as against where they were fitted.

    Attributes
    ----------
    at_mm : ndarray (n, 2)
    slope : ndarray (n,)
        Slope of the sight line across the line there: what a depth of 1 mm moves it by.
    moved_mm : ndarray (n,)
        How far beside its fitted place the line is seen.
    absorbed : ndarray (n, 3)
        What fitting the line has taken out of that: its shift and turn, a ring's size and place.
    line : ndarray (n,)
        Number of the line.
    """

    at_mm: Floats
    slope: Floats
    moved_mm: Floats
    absorbed: Floats
    line: NDArray[np.int_]

    def only(self, which: Bools) -> "Shifts":
        """The places `which` (n,)."""
        parts = self.at_mm[which], self.slope[which], self.moved_mm[which], self.absorbed[which]
        return Shifts(*parts, self.line[which])

    def depth(self, inside: Bools) -> tuple[Floats, Floats]:
        """Depth and its standard deviation (m,), mm, by what is `inside` (n, m); nought and infinity if unknown.

        The deviation is that between lines, each of which pulls as a whole: a bowed stroke does so too.
        """
        pulls, weights = [], []
        for k in range(int(self.line.max(initial=-1)) + 1):
            own = self.line == k
            within = inside[own]
            told = (within.sum(0) >= INSIDE) & ((~within).sum(0) >= OUTSIDE)
            if not told.any():
                continue
            columns = np.column_stack([within * self.slope[own][:, None] * told, self.moved_mm[own]])
            base = np.linalg.qr(self.absorbed[own][:, : _terms(self.absorbed[own])])[0]
            rest = columns - base @ (base.T @ columns)
            pulls.append(rest[:, :-1].T @ rest[:, -1])
            weights.append((rest[:, :-1] ** 2).sum(0))
        if len(pulls) < LINES:
            return np.zeros(inside.shape[1]), np.full(inside.shape[1], np.inf)
        pull, weight = np.array(pulls), np.array(weights)
        count, total = (weight > 0).sum(0), np.maximum(weight.sum(0), 1e-12)
        depth = pull.sum(0) / total
        spread = ((pull - depth * weight) ** 2).sum(0) * count / np.maximum(count - 1, 1)
        deviation = np.sqrt(spread / total**2 + PLACE_MM**2 / total)
        known = count >= LINES
        return np.where(known, depth, 0.0), np.where(known, deviation, np.inf)


def line_shifts(photo: Photo, marks: Marks, reach_mm: float) -> Shifts | None:
    """Look where the lines within `reach_mm` of the centre are seen; None where there are too few."""
    paths = [p for p in _paths(marks, reach_mm) if len(p[0]) >= INSIDE + OUTSIDE]
    if len(paths) < LINES:
        return None
    at, normal, absorbed = (np.concatenate([p[k] for p in paths]) for k in range(3))
    width = median([p[3] for p in paths])
    line = np.repeat(np.arange(len(paths)), [len(p[0]) for p in paths])
    moved, step = _places(photo, marks, at, normal, width)
    camera = marks.panel.camera_position_mm
    slope = (normal * (at - camera[:2])).sum(1) / camera[2]
    good = (step > LEAST_STEP) & (np.abs(moved) < NEAR_MM)
    at, slope, moved, absorbed, line = at[good], slope[good], moved[good], absorbed[good], line[good]
    return Shifts(at, slope, _without_specks(moved, line), absorbed, line)


def _without_specks(moved: Floats, line: NDArray[np.int_]) -> Floats:
    """Running medians of `moved` (n,) along each line."""
    half = NEIGHBOURS // 2
    around = np.clip(np.arange(len(moved))[:, None] + np.arange(-half, half + 1), 0, max(len(moved) - 1, 0))
    # At a line's ends its last places count again.
    first, last = (np.searchsorted(line, line, side=side) for side in ("left", "right"))
    return medians(moved[np.clip(around, first[:, None], last[:, None] - 1)])


def _terms(absorbed: Floats) -> int:
    """How many columns are used: two of a spoke's, three of a ring's."""
    return 3 if absorbed[:, 2].any() else 2


def _paths(marks: Marks, reach_mm: float) -> list[tuple[Floats, Floats, Floats, float]]:
    """Known lines within reach: places (n, 2), unit normals (n, 2), what their fit absorbs (n, 3), width in mm."""
    paths, centre = [], marks.centre.xy_mm
    # Nearer the centre the next spoke might be taken for this one.
    apart = max(INNERMOST_MM, 2 * NEAR_MM * len(marks.spokes) / (2 * np.pi))
    for spoke in marks.spokes:
        along = (spoke.outer_mm - spoke.inner_mm) / max(float(np.hypot(*(spoke.outer_mm - spoke.inner_mm))), 1e-9)
        first = float((centre - spoke.inner_mm) @ along) + apart
        last = min(float((spoke.outer_mm - spoke.inner_mm) @ along), first + reach_mm)
        t = np.arange(first, last, CELL_MM)[:, None]
        across = np.broadcast_to(np.array([-along[1], along[0]]), (len(t), 2))
        absorbed = np.hstack([np.ones_like(t), t / reach_mm, np.zeros_like(t)])
        paths.append((spoke.inner_mm + t * along, across, absorbed, spoke.width_mm))
    for ring in marks.rings:
        if ring.radius_mm < reach_mm:
            count = max(8, round(2 * np.pi * ring.radius_mm / CELL_MM))
            out = outward(np.arange(count) * 360.0 / count)
            paths.append(
                (ring.centre_mm + ring.radius_mm * out, out, np.hstack([np.ones((count, 1)), out]), ring.width_mm)
            )
    return paths


def _places(photo: Photo, marks: Marks, at: Floats, normal: Floats, width_mm: float) -> tuple[Floats, Floats]:
    """How far beside `at` (n, 2) along `normal` the line is seen, mm, and its step as a share of the usual one."""
    u = np.arange(-ACROSS_MM, ACROSS_MM + FINE_MM / 2, FINE_MM)
    along = np.column_stack([-normal[:, 1], normal[:, 0]])
    steps = (np.arange(round(CELL_MM / STEP_MM)) + 0.5) * STEP_MM - CELL_MM / 2
    points = at[:, None] + steps[:, None] * along[:, None]
    # So near a point the map is straight.
    middle = marks.panel.to_photo(points)
    across = marks.panel.to_photo(points + normal[:, None]) - middle
    pixels = middle[:, :, None] + u[:, None] * across[:, :, None]
    colours = cube_root_colours(sample(photo.rgb, pixels)).mean(1)
    colours -= colours[:, np.abs(u) > BARE_MM].mean(1, keepdims=True)
    peak = colours[:, np.abs(u) < 2 * FINE_MM].mean(1)
    size = np.linalg.norm(peak, axis=1)
    chalk = medians(peak[size >= quantile(size, 0.6)], 0)
    profile = (colours @ (chalk / max(float(chalk @ chalk), 1e-9))).astype(np.float32)
    # A line blurred by lens and hand, as wide as lines are here.
    sd = (0.35 * width_mm + 0.1) / FINE_MM
    matched = np.asarray(cv2.GaussianBlur(profile, (0, 0), sigmaX=sd, sigmaY=1e-6), float)
    k = matched[:, 1:-1].argmax(1) + 1
    rows = np.arange(len(k))
    before, top, after = (matched[rows, k + d] for d in (-1, 0, 1))
    place = u[k] + FINE_MM / 2 * (before - after) / np.minimum(before - 2 * top + after, -1e-9)
    return place, top / max(median(top), 1e-6)
