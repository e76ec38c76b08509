"""The witness that knows no colours: known lines that can no longer be seen lie under something.

Every known line is cut into short cells; a cell is seen where the line stands out from what lies beside it as chalk
does elsewhere on the panel.
"""

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from aligncheck.centrepiece.colours import Singles, cube_root_colours
from aligncheck.centrepiece.sampling import sample
from aligncheck.centrepiece.window import Floats, Window
from aligncheck.geometry.angles import outward
from aligncheck.geometry.small import median, medians, quantile
from aligncheck.marks import Marks
from aligncheck.photo import Photo

#: Length of a cell and distance of its samples, mm; how far beyond the line's rim its surroundings are looked at.
CELL_MM, SAMPLE_MM, BESIDE_MM = 2.0, 0.4, 0.7
#: A cell is seen that shows this share of the usual step.
SEEN = 0.4
#: Share of cells unseen elsewhere (gaps, grain), held between these.
GAPS = (0.06, 0.6)
#: Share of a hidden line's cells that still look seen by chance (grain of the piece, other strokes).
BY_CHANCE = 0.12
#: A cell speaks for its surroundings, sd, mm; log odds that count as sure, and what that is worth as evidence.
LEAN_MM, LEAN_SURE, LEAN_MOST = 2.2, 6.0, 0.8


class Cells(NamedTuple):
    """Cells of known lines: places (n, 2), whether each is seen (n,), and the share unseen on open panel."""

    at_mm: Floats
    seen: NDArray[np.bool_]
    gaps: float

    @property
    def odds_each(self) -> Floats:
        """Natural log odds (n,) that each cell is covered."""
        unseen, seen = np.log((1 - BY_CHANCE) / self.gaps), np.log(BY_CHANCE / (1 - self.gaps))
        return np.asarray(np.where(self.seen, seen, unseen), float)

    def log_odds(self, inside: NDArray[np.bool_]) -> float:
        """Natural log odds that something covers the cells `inside` (n,), against an open panel."""
        return float(self.odds_each[inside].sum())

    def unseen_share(self, among: NDArray[np.bool_]) -> float:
        """Share unseen of the cells `among` (n,); the usual share where there are hardly any."""
        return float((~self.seen[among]).mean()) if among.sum() >= 8 else self.gaps


def line_cells(photo: Photo, marks: Marks) -> Cells | None:
    """Look at every cell of the known lines; None where there are too few to know what chalk looks like.

    Parameters
    ----------
    photo : Photo
        Looked at as it is: the lines are thin.
    """
    paths = _paths(marks)
    if not paths:
        return None
    at, side, cell = _samples(paths)
    colours = _colours(photo, marks, np.stack([at, at + side, at - side]))
    step = colours[0] - (colours[1] + colours[2]) / 2
    # The usual direction of the step: where it is strong, chalk is.
    size = np.linalg.norm(step, axis=1)
    strong = size >= quantile(size, 0.6)
    chalk = medians(step[strong], 0)
    length = float(np.linalg.norm(chalk))
    if length < 1e-3:
        return None
    share = step @ chalk / length**2
    number = int(cell.max()) + 1
    counts = np.maximum(np.bincount(cell, minlength=number), 1)
    value = np.bincount(cell, share, number) / counts
    middle = np.column_stack([np.bincount(cell, at[:, k], number) / counts for k in range(2)])
    radius = np.hypot(*(middle - marks.centre.xy_mm).T)
    outer = radius > median(radius)
    seen = value > SEEN * max(median(value[outer]), 0.1)
    gaps = float(np.clip((~seen[outer]).mean(), *GAPS))
    return Cells(middle, seen, gaps)


def lean_of(cells: Cells, window: Window) -> Singles:
    """Evidence (h, w) by the lines alone: negative where they are hidden, positive where they are seen."""
    height, width = window.shape
    at = np.rint(window.to_view(cells.at_mm)).astype(int)
    inside = (at >= 0).all(1) & (at[:, 0] < width) & (at[:, 1] < height)
    odds = np.zeros(window.shape, np.float32)
    np.add.at(odds, (at[inside, 1], at[inside, 0]), cells.odds_each[inside])
    sd = LEAN_MM * window.px_per_mm
    # A blurred point is 1 / (2 pi sd^2) high: this brings it back to its odds.
    field = cv2.GaussianBlur(odds, (0, 0), sd) * (2 * np.pi * sd**2)
    return np.asarray(-LEAN_MOST * np.clip(field / LEAN_SURE, -1, 1), np.float32)


def _paths(marks: Marks) -> list[tuple[Floats, Floats, float]]:
    """Known lines as points (n, 2), unit normals (n, 2) and width in mm."""
    paths = []
    centre = marks.centre.xy_mm
    for line in marks.spokes:
        inner = centre + 3.0 * (line.outer_mm - centre) / max(float(np.linalg.norm(line.outer_mm - centre)), 1e-6)
        for a, b in ((inner, line.inner_mm), (line.inner_mm, line.outer_mm)):
            if (b - a) @ (line.outer_mm - centre) > 0:
                paths.append(_straight(a, b, line.width_mm))
    for ring in marks.rings:
        count = max(8, round(2 * np.pi * ring.radius_mm / SAMPLE_MM))
        out = outward(np.arange(count) * 360.0 / count)
        paths.append((ring.centre_mm + ring.radius_mm * out, out, ring.width_mm))
    return [p for p in paths if len(p[0]) > 1]


def _straight(a: Floats, b: Floats, width_mm: float) -> tuple[Floats, Floats, float]:
    length = float(np.linalg.norm(b - a))
    t = np.arange(SAMPLE_MM / 2, length, SAMPLE_MM)[:, None]
    along = (b - a) / max(length, 1e-9)
    across = np.array([-along[1], along[0]])
    return a + t * along, np.broadcast_to(across, (len(t), 2)), width_mm


def _samples(paths: list[tuple[Floats, Floats, float]]) -> tuple[Floats, Floats, NDArray[np.int_]]:
    """All samples: places, offsets to what lies beside, number of the cell."""
    per = round(CELL_MM / SAMPLE_MM)
    at, side, cell, first = [], [], [], 0
    for points, normals, width in paths:
        at.append(points)
        side.append(normals * (max(width, 0.3) / 2 + BESIDE_MM))
        numbers = first + np.arange(len(points)) // per
        cell.append(numbers)
        first = int(numbers[-1]) + 1
    return np.concatenate(at), np.concatenate(side), np.concatenate(cell)


def _colours(photo: Photo, marks: Marks, points_mm: Floats) -> Floats:
    """Cube-root colours (..., 3) at panel points."""
    return np.asarray(cube_root_colours(sample(photo.rgb, marks.panel.to_photo(points_mm))), float)
