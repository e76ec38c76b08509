"""The legend below the picture: what each sign means, set in lines as wide as the picture."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from aligncheck.overlay import shapes
from aligncheck.overlay.arrows import draw_hollow, draw_solid, hollow_arrow_outline, solid_arrow_outline
from aligncheck.overlay.canvas import DRAWN_OFF, SPOKE_PLAN, Canvas, Lettering
from aligncheck.overlay.lettering import text_width
from aligncheck.overlay.view import Style

Sign = Literal["bead", "arrow", "drawn", "plan", "hollow", "sure", "tolerance", "more"]

#: In q.
TEXT, LINE_HIGH, ABOVE, BELOW = 11.5, 19.5, 7.0, 9.0
LEFT, BETWEEN, AFTER_SIGN = 12.0, 15.0, 7.0
WIDTHS: dict[Sign, float] = {
    "bead": 8.0,
    "arrow": 24.0,
    "drawn": 22.0,
    "plan": 21.4,
    "hollow": 22.0,
    "sure": 20.0,
    "tolerance": 22.0,
    "more": 15.0,
}


@dataclass(frozen=True)
class Entry:
    """One sign and its meaning."""

    sign: Sign
    text: str

    @property
    def width_q(self) -> float:
        """Width of sign and text in q."""
        return WIDTHS[self.sign] + AFTER_SIGN + text_width(self.text, 64.0) / 64.0 * TEXT


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
            width = WIDTHS[entry.sign] * q
            SIGNS[entry.sign](canvas, x, y, width, style)
            place = (x + width + AFTER_SIGN * q, y)
            canvas.text(Lettering(place, entry.text, TEXT, style.theme.text, left=True))
            x += (entry.width_q + BETWEEN) * q
        y += LINE_HIGH * q


def _across(x: float, y: float, width: float) -> list[list[float]]:
    """A level line."""
    return [[x, y], [x + width / 2, y], [x + width, y]]


def _bead(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.bead((x + width / 2, y))


def _arrow(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    draw_solid(canvas, solid_arrow_outline(np.array(_across(x, y, width)), canvas.q))


def _hollow(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    draw_hollow(canvas, hollow_arrow_outline(np.array(_across(x, y, width)), canvas.q))


def _drawn(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_across(x, y, width), DRAWN_OFF)


def _plan(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:  # noqa: ARG001
    canvas.line(_across(x, y, width), SPOKE_PLAN)


def _sure(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    """A whisker: wherever it stands it means "sure to"."""
    colour, high = style.theme.text, 4.5 * canvas.q
    canvas.stroke(_across(x, y, width), 1.5, colour)
    for end in (x, x + width):
        canvas.stroke([[end, y - high], [end, y + high]], 1.5, colour)


def _tolerance(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    """A band about the plan."""
    box = shapes.rounded((x, y - 4 * canvas.q, x + width, y + 4 * canvas.q), 1.0)
    canvas.fill([box], style.theme.quiet)
    canvas.fill(
        [shapes.ribbon([[x + width / 2, y - 6 * canvas.q], [x + width / 2, y + 6 * canvas.q]], 1.6 * canvas.q)],
        style.theme.text,
    )


def _more(canvas: Canvas, x: float, y: float, width: float, style: Style) -> None:
    for k in range(3):
        canvas.fill([shapes.circle((x + width * (1 + 2 * k) / 6, y), 1.5 * canvas.q)], style.theme.text)


SIGNS: dict[Sign, Callable[[Canvas, float, float, float, Style], None]] = {
    "bead": _bead,
    "arrow": _arrow,
    "drawn": _drawn,
    "plan": _plan,
    "hollow": _hollow,
    "sure": _sure,
    "tolerance": _tolerance,
    "more": _more,
}
