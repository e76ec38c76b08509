"""What a plate says, and how it gives way where room is short."""

from collections.abc import Sequence
from typing import NamedTuple

from aligncheck.overlay.obstacles import Obstacles
from aligncheck.overlay.place import Label, Placed, Spot, place_all
from aligncheck.overlay.plates import SECOND_LINE, Line, Plate, PlateKind

#: Size of a move's figure in q, and whether a figure without room may lose its "mm"; tried in this order.
TRIES = ((15.0, False), (13.0, False), (13.0, True), (11.5, True))
UNSURE_SIZE = 12.0


class Callout(NamedTuple):
    """One figure that belongs to an arrow.

    `figure` with its `unit` and `tail` make the main line ("0.9", "mm", "in"); `above` and `below` are small lines.
    `weight` says how much it matters: the worst are placed first.
    """

    kind: PlateKind
    figure: str
    spots: tuple[Spot, ...]
    owner: int
    weight: float
    unit: str = "mm"
    tail: str = ""
    above: str = ""
    below: str = ""
    leader: bool = True

    @property
    def sure(self) -> bool:
        """Whether it says a move."""
        return self.kind in ("worst", "move")

    def forms(self, size: float, may_lose_unit: bool) -> list[Label]:
        """The plates it may take, the best first."""
        if not self.sure:
            return [self._label(UNSURE_SIZE, self.unit), self._label(UNSURE_SIZE, "")]
        return [self._label(size, unit) for unit in ([self.unit, ""] if may_lose_unit else [self.unit])]

    def _label(self, size: float, unit: str) -> Label:
        main = " ".join(part for part in (self.figure, unit, self.tail) if part)
        lines = [Line(main, size, bold=self.sure)]
        if self.above:
            lines.insert(0, Line(self.above, max(SECOND_LINE, 0.75 * size)))
        if self.below:
            lines.append(Line(self.below, SECOND_LINE))
        return Label(Plate(self.kind, tuple(lines)), self.spots, self.owner, self.leader)


def place_callouts(obstacles: Obstacles, callouts: Sequence[Callout]) -> list[tuple[Callout, Placed | None]]:
    """Place all, moves before doubts and the worst first; what finds no room stays without a plate."""
    order = sorted(callouts, key=lambda one: (not one.sure, -one.weight))
    tries = [[one.forms(size, may_lose) for one in order] for size, may_lose in TRIES]
    return list(zip(order, place_all(obstacles, tries), strict=True))
