"""What one photo says of the marks, as numbers with their gradient over the photo's map and their own covariance."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.places import place_marks
from aligncheck.drift.sources import MAP
from aligncheck.marks import Marks

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SeenMark:
    """One mark: its numbers (n,), their gradient over the map's parameters (n, 10) and their own covariance (n, n).

    A spoke has x and y of its inner and outer end, a ring x and y of its centre and its radius, the centre mark x
    and y; all in mm.
    """

    numbers: Floats
    by_map: Floats
    own: Floats

    def turned(self, turn: Floats) -> "SeenMark":
        """The mark in a frame turned by the matrix `turn` (2, 2): pairs of numbers turn, a radius stays."""
        matrix = np.eye(len(self.numbers))
        for k in range(0, len(self.numbers) - 1, 2):
            matrix[k : k + 2, k : k + 2] = turn
        return SeenMark(matrix @ self.numbers, matrix @ self.by_map, matrix @ self.own @ matrix.T)


@dataclass(frozen=True)
class Seen:
    """All marks of one photo, in the frame of that photo or in a common one.

    `map_covariance` (10, 10) is that of the photo's map, in the photo's own frame. `size_mm` is the panel's width and
    height as this photo shows it.
    """

    spokes: tuple[SeenMark, ...]
    rings: tuple[SeenMark, ...]
    centre: SeenMark | None
    map_covariance: Floats
    segments: int
    size_mm: tuple[float, float]

    def turned(self, quarters: int) -> "Seen":
        """The same marks with the panel turned clockwise by `quarters` quarter turns."""
        turn = quarter_turn(quarters)
        return replace(
            self,
            spokes=tuple(s.turned(turn) for s in self.spokes),
            rings=tuple(r.turned(turn) for r in self.rings),
            centre=self.centre.turned(turn) if self.centre else None,
            size_mm=self.size_mm if quarters % 2 == 0 else self.size_mm[::-1],
        )


def quarter_turn(quarters: int) -> Floats:
    """Matrix (2, 2) that turns points clockwise (x right, y down) by quarter turns: exact."""
    return np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), quarters % 4).astype(float)


def see(marks: Marks) -> Seen:
    """Lay out the marks of one photo."""
    placed = place_marks(marks)
    own = placed.sources.covariances[0].copy()
    own[:MAP], own[:, :MAP] = 0.0, 0.0

    def seen(numbers: list[Floats | float], gradients: list[Floats]) -> SeenMark:
        g = np.vstack(gradients)
        return SeenMark(np.hstack(numbers), g[:, :MAP].copy(), g @ own @ g.T)

    return Seen(
        spokes=tuple(seen([s.inner.xy_mm, s.outer.xy_mm], [s.inner.gradient, s.outer.gradient]) for s in placed.spokes),
        rings=tuple(
            seen([c.centre.xy_mm, c.radius.value], [c.centre.gradient, c.radius.gradient]) for c in placed.rings
        ),
        centre=seen([placed.centre.xy_mm], [placed.centre.gradient]) if marks.centre.source == "mark" else None,
        map_covariance=marks.panel.covariance,
        segments=marks.segments,
        size_mm=(marks.panel.width_mm, marks.panel.height_mm),
    )
