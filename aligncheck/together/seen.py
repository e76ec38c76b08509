"""What one photo says of the marks, as numbers with their gradient over the photo's map and their own covariance."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from aligncheck.drift.places import Circle, place_marks
from aligncheck.drift.sources import MAP
from aligncheck.marks import Marks, Ring
from aligncheck.marks.moved import AROUND, around, circle_by
from aligncheck.panel.in_common import Shown, shown_by

Floats = NDArray[np.float64]

#: How many numbers a spoke's two ends have, and a ring whose oval was read.
ENDS, OVAL = 4, 5


@dataclass(frozen=True)
class SeenMark:
    """One mark: its numbers (n,), their gradient over the map's parameters (n, 10) and their own covariance (n, n).

    A spoke has x and y of its inner and outer end, a ring x and y of its centre, its radius, and where it was read
    what makes it oval, by the cosine and sine of twice the bearing; the centre mark x and y; all in mm. `hand_mm`: of a
    ring, how far its hand strays from round by its finer waves.
    """

    numbers: Floats
    by_map: Floats
    own: Floats
    hand_mm: float | None = None

    def turned(self, turn: Floats) -> "SeenMark":
        """The mark in a frame turned by quarters, by the matrix `turn` (2, 2): places turn, a radius stays."""
        matrix = np.eye(len(self.numbers))
        for k in range(0, 4 if len(self.numbers) == ENDS else 2, 2):
            matrix[k : k + 2, k : k + 2] = turn
        if len(self.numbers) == OVAL:
            # Twice a quarter turn is half a turn: what was long across is long along.
            matrix[3:, 3:] *= turn[0, 0] ** 2 - turn[0, 1] ** 2
        return replace(
            self, numbers=matrix @ self.numbers, by_map=matrix @ self.by_map, own=matrix @ self.own @ matrix.T
        )


@dataclass(frozen=True)
class Seen:
    """All marks of one photo, in the frame of that photo or in a common one.

    `map_covariance` (10, 10) is that of the photo's map, in the photo's own frame; `shown` the same for every make of
    panel, with what is the panel's own in the frame of the marks. `size_mm` is the panel's width and height as this
    photo shows it.
    """

    spokes: tuple[SeenMark, ...]
    rings: tuple[SeenMark, ...]
    centre: SeenMark | None
    map_covariance: Floats
    segments: int
    size_mm: tuple[float, float]
    shown: Shown

    def turned(self, quarters: int) -> "Seen":
        """The same marks with the panel turned clockwise by `quarters` quarter turns."""
        turn = quarter_turn(quarters)
        return replace(
            self,
            spokes=tuple(s.turned(turn) for s in self.spokes),
            rings=tuple(r.turned(turn) for r in self.rings),
            centre=self.centre.turned(turn) if self.centre else None,
            size_mm=self.size_mm if quarters % 2 == 0 else self.size_mm[::-1],
            shown=self.shown.turned(quarters),
        )


def quarter_turn(quarters: int) -> Floats:
    """Matrix (2, 2) that turns points clockwise (x right, y down) by quarter turns: exact."""
    return np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), quarters % 4).astype(float)


def see(marks: Marks) -> Seen:
    """Lay out the marks of one photo, in the frame of the panel as its sides alone gave it."""
    placed = place_marks(marks)
    own = placed.sources.covariances[0].copy()
    own[:MAP], own[:, :MAP] = 0.0, 0.0

    def seen(numbers: list[Floats | float], gradients: list[Floats]) -> SeenMark:
        g = np.vstack(gradients)
        return SeenMark(np.hstack(numbers), g[:, :MAP].copy(), g @ own @ g.T)

    # One call for all rings: the map's derivative costs the same for one point as for a thousand.
    fields = iter(marks.panel.field(np.array([around(r) for r in marks.rings]).reshape(-1, AROUND, 2)))

    def seen_ring(ring: Ring, circle: Circle) -> SeenMark:
        field = next(fields)
        mark = seen([circle.centre.xy_mm, circle.radius.value], [circle.centre.gradient, circle.radius.gradient])
        if ring.waves is None:
            return mark
        own = np.zeros((OVAL, OVAL))
        own[:3, :3], own[3:, 3:] = mark.own, ring.waves.oval_covariance
        by_map = np.vstack([mark.by_map, circle_by(field)[3:]])
        return SeenMark(np.hstack([mark.numbers, ring.waves.oval_mm]), by_map, own, ring.waves.hand_mm)

    return Seen(
        spokes=tuple(seen([s.inner.xy_mm, s.outer.xy_mm], [s.inner.gradient, s.outer.gradient]) for s in placed.spokes),
        rings=tuple(seen_ring(ring, circle) for ring, circle in zip(marks.rings, placed.rings, strict=True)),
        centre=seen([placed.centre.xy_mm], [placed.centre.gradient]) if marks.centre.source == "mark" else None,
        map_covariance=marks.panel.covariance,
        segments=marks.segments,
        size_mm=(marks.panel.width_mm, marks.panel.height_mm),
        shown=shown_by(marks.panel),
    )
