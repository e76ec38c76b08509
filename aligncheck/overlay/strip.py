"""The strip above the picture: the verdict's outline, the act in large, the first move below it."""

from aligncheck.overlay.canvas import Canvas, Lettering
from aligncheck.overlay.icons import HALF, draw_icon
from aligncheck.overlay.lettering import text_width
from aligncheck.overlay.view import Style
from aligncheck.words.summary import Summary

#: In q.
STRIP_HIGH = 58.0
ICON_LEFT = 14.0
TEXT_LEFT = ICON_LEFT + 2 * HALF + 13.0
HEADLINE, SECOND = 17.5, 12.5
HEADLINE_AT, SECOND_AT = 21.0, 42.0
RIGHT = 10.0


def draw_strip(canvas: Canvas, summary: Summary, style: Style) -> None:
    """Draw the verdict on `summary` along the top of the canvas."""
    q = canvas.q
    draw_icon(canvas, summary.kind, ((ICON_LEFT + HALF) * q, STRIP_HIGH / 2 * q), style)
    for text, size, at, bold in (
        (summary.headline, HEADLINE, HEADLINE_AT, True),
        (summary.second, SECOND, SECOND_AT, False),
    ):
        size = fitting_size(text, size, bold, canvas.size[0] / q - TEXT_LEFT - RIGHT)
        canvas.text(Lettering((TEXT_LEFT * q, at * q), text, size, style.theme.text, bold, left=True))


def fitting_size(text: str, size: float, bold: bool, room: float) -> float:
    """`size`, or as much less (all in q) as `text` needs to fit into `room`."""
    width = text_width(text, 64.0, bold) / 64.0 * size
    return size * min(1.0, room / width) if width > 0 else size
