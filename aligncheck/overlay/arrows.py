"""How long the arrows are: one factor for the whole picture, so that they can be compared."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aligncheck.overlay import shapes
from aligncheck.overlay.canvas import HOLLOW, Canvas
from aligncheck.overlay.colours import MOVE

Floats = NDArray[np.float64]

TIMES = (1, 2, 5, 10, 20, 50)
#: In q. The shortest arrow must still show its head and a piece of shaft.
SHORTEST = 12.0
SHAFT, HEAD_LONG, HEAD_WIDE, RIM = 5.0, 9.0, 14.0, 1.8
#: An unsure arrow has one length, because its length would claim what is not known.
UNSURE_LONG = 13.0
UNSURE_SHAFT, UNSURE_HEAD_LONG, UNSURE_HEAD_WIDE = 4.0, 8.0, 12.0


@dataclass(frozen=True)
class Lengths:
    """The factor `times` by which moves are drawn longer, the longest arrow, and whether one is cut to that."""

    times: int
    longest_mm: float
    cut: bool

    def drawn_mm(self, move_mm: float) -> float:
        """Length of the arrow for a move, with its sign."""
        return float(np.clip(move_mm * self.times, -self.longest_mm, self.longest_mm))


def choose_lengths(moves_mm: Sequence[float], shortest_mm: float, longest_mm: float) -> Lengths:
    """The least factor that makes the shortest of `moves_mm` at least `shortest_mm` long."""
    sizes = [abs(m) for m in moves_mm]
    if not sizes:
        return Lengths(1, longest_mm, False)
    times = next((t for t in TIMES if t * min(sizes) >= shortest_mm), TIMES[-1])
    return Lengths(times, longest_mm, times * max(sizes) > longest_mm)


def solid_arrow_outline(path: Floats, q: float) -> Floats:
    """The outline of a move's arrow along `path`."""
    return shapes.arrow(path, SHAFT * q, HEAD_LONG * q, HEAD_WIDE * q)


def hollow_arrow_outline(path: Floats, q: float) -> Floats:
    """The outline of an unsure arrow along `path`."""
    return shapes.arrow(path, UNSURE_SHAFT * q, UNSURE_HEAD_LONG * q, UNSURE_HEAD_WIDE * q)


def draw_solid(canvas: Canvas, outline: Floats) -> None:
    """Filled: do it."""
    canvas.solid(outline, MOVE, RIM)


def draw_hollow(canvas: Canvas, outline: Floats) -> None:
    """Hollow: not sure."""
    canvas.line(outline, HOLLOW, closed=True)
