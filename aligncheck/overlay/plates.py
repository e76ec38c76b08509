"""Plates: short texts on a small board, so that they can be read on any panel."""

from typing import Literal, NamedTuple

from aligncheck.overlay import shapes
from aligncheck.overlay.canvas import Canvas, Lettering
from aligncheck.overlay.colours import BONE, INK, MOVE, PLAN, RGB
from aligncheck.overlay.lettering import text_width
from aligncheck.overlay.view import Box, Style

PlateKind = Literal["worst", "move", "unsure", "plan", "plain"]

SECOND_LINE = 10.5
PAD_SIDE, PAD_END = 4.5, 3.5
CORNER = 3.0
#: Half the line around a board, which lies outside its box.
BORDER = 1.8


class Line(NamedTuple):
    """One line of a plate: text, size in q, weight."""

    text: str
    size: float
    bold: bool = False


class Plate(NamedTuple):
    """A board with its lines, top first."""

    kind: PlateKind
    lines: tuple[Line, ...]

    def size_q(self) -> tuple[float, float]:
        """Width and height in q."""
        # Measured large, so that rounding to whole pixels does not show.
        width = max(text_width(line.text, 64.0, line.bold) / 64.0 * line.size for line in self.lines)
        return width + 2 * PAD_SIDE, sum(_line_height(line) for line in self.lines) + 2 * PAD_END - LEADING

    def draw(self, canvas: Canvas, box: Box, style: Style) -> None:
        """Draw it into `box` (left, top, right, bottom) in pixels."""
        q = canvas.q
        ground, text = _colours(self.kind, style)
        board = shapes.rounded(box, CORNER * q)
        if self.kind in ("worst", "move", "plan"):
            border = PLAN if self.kind == "plan" else MOVE
            canvas.stroke(board, 2 * BORDER, INK, closed=True)
            canvas.stroke(board, 2.0, INK if self.kind == "worst" else border, closed=True)
        canvas.fill([board], ground)
        if self.kind == "unsure":
            inner = shapes.rounded(tuple(v + s * 0.6 * q for v, s in zip(box, (1, 1, -1, -1), strict=True)), CORNER * q)  # type: ignore[arg-type]
            canvas.fill(shapes.dashes([*inner, inner[0]], 3.0 * q, 2.2 * q, 1.2 * q), text)
        middle = (box[0] + box[2]) / 2
        y = box[1] + PAD_END * q
        for line in self.lines:
            height = (_line_height(line) - LEADING) * q
            canvas.text(Lettering((middle, y + height / 2), line.text, line.size, text, line.bold))
            y += height + LEADING * q


#: Between two lines of a plate, in q.
LEADING = 3.0


def _line_height(line: Line) -> float:
    """Height of a line of figures and the room below it, in q."""
    return 0.78 * line.size + LEADING


def _colours(kind: PlateKind, style: Style) -> tuple[RGB, RGB]:
    """Board and text. Only the worst is filled with orange; what is unsure stays quieter than what is sure."""
    if kind == "worst":
        return MOVE, INK
    if kind == "unsure":
        return style.theme.ground, style.theme.text
    return INK, BONE
