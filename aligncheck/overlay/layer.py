"""A layer: one kind of thing drawn over a picture. Later stages add theirs beside those of spokes and rings."""

from collections.abc import Sequence
from typing import Protocol

from aligncheck.overlay.callouts import Callout
from aligncheck.overlay.canvas import Canvas
from aligncheck.overlay.legend import Entry
from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Placed

Placements = Sequence[tuple[Callout, Placed | None]]


class Layer(Protocol):
    """Drawn in this order: lines of all layers, leaders, signs of all layers, plates."""

    def block(self, obstacles: Obstacles) -> None:
        """Add what no plate may cover."""

    def callouts(self) -> list[Callout]:
        """The figures to place."""

    def draw_lines(self, canvas: Canvas) -> None:
        """Draw what lies on the panel."""

    def draw_signs(self, canvas: Canvas, placements: Placements) -> None:
        """Draw arrows and beads, knowing where the figures hang."""

    def entries(self, placements: Placements) -> list[Entry]:
        """Its part of the legend."""
