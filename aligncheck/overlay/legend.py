"""The legend below the picture: what each sign means, set in lines as wide as the picture."""

from collections.abc import Sequence
from typing import NamedTuple

from aligncheck.overlay.canvas import Canvas, Lettering
from aligncheck.overlay.lettering import text_width
from aligncheck.overlay.signs import Sign
from aligncheck.overlay.view import Style

#: In q.
TEXT, LINE_HIGH, ABOVE, BELOW = 11.5, 19.5, 7.0, 9.0
LEFT, BETWEEN, AFTER_SIGN = 12.0, 15.0, 7.0


class Entry(NamedTuple):
    """One sign and its meaning."""

    sign: Sign
    text: str

    @property
    def width_q(self) -> float:
        """Width of sign and text in q."""
        return self.sign.width + AFTER_SIGN + text_width(self.text, 64.0) / 64.0 * TEXT


def lines_of(entries: Sequence[Entry], room_q: float) -> list[list[Entry]]:
    """Break the entries into lines of at most `room_q`, in their order."""
    lines: list[list[Entry]] = []
    left = 0.0
    for entry in entries:
        if not lines or entry.width_q > left:
            lines.append([])
            left = room_q - 2 * LEFT
        lines[-1].append(entry)
        left -= entry.width_q + BETWEEN
    return lines


def height_q(entries: Sequence[Entry], room_q: float) -> float:
    """Height of the legend in q."""
    return ABOVE + LINE_HIGH * len(lines_of(entries, room_q)) + BELOW if entries else 0.0


def draw_legend(canvas: Canvas, entries: Sequence[Entry], top_px: float, style: Style) -> None:
    """Draw it from `top_px` down."""
    q = canvas.q
    y = top_px + (ABOVE + LINE_HIGH / 2) * q
    for line in lines_of(entries, canvas.size[0] / q):
        x = LEFT * q
        for entry in line:
            width = entry.sign.width * q
            entry.sign.draw(canvas, x, y, width, style)
            place = (x + width + AFTER_SIGN * q, y)
            canvas.text(Lettering(place, entry.text, TEXT, style.theme.text, left=True))
            x += (entry.width_q + BETWEEN) * q
        y += LINE_HIGH * q
