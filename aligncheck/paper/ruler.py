"""A printed ruler: what it measures tells the printer's scale."""

from typing import Literal

from aligncheck.paper.page import Sheets

#: Lengths of the marks at every mm, 5 mm and 10 mm, and the width of all lines, mm.
TICKS_MM, LINE_MM = (1.6, 2.6, 4.0), 0.15
RULER_MM = 100


def draw_ruler(
    sheets: Sheets, x: float, y: float, along: Literal["across", "up"] = "across", grey: float = 0.0
) -> None:
    """A 100 mm ruler from its zero at (x, y), to the right or upward; marks point up or to the left.

    The middle of the first and of the last mark are 100 mm apart.
    """

    def place(s: float, t: float) -> tuple[float, float]:
        return (x + s, y - t) if along == "across" else (x - t, y - s)

    ticks = []
    for s in range(RULER_MM + 1):
        length = TICKS_MM[2] if s % 10 == 0 else TICKS_MM[1] if s % 5 == 0 else TICKS_MM[0]
        ticks.append((place(s, 0), place(s, length)))
    half = LINE_MM / 2
    sheets.lines([*ticks, (place(-half, 0), place(RULER_MM + half, 0))], LINE_MM, grey)
    for s in (0, 50, 100):
        tx, ty = place(s, 5.0)
        if along == "across":
            sheets.text(tx, ty, str(s), 2.6, align="centre", grey=grey)
        else:
            sheets.text(tx + 0.8, ty + 0.9, str(s), 2.6, align="right", grey=grey)
