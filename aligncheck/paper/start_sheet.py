"""The circle where the first row starts, as a disc to cut out and trace round."""

import math

from aligncheck.errors import InputError
from aligncheck.geometry.angles import outward
from aligncheck.paper.page import Sheets
from aligncheck.paper.template import GREY, LINE_MM, SMALL_MM, THIN_MM, Template
from aligncheck.words.cautions import BLADE

#: Paper left around the disc, and the hole through which the centre mark is seen.
AROUND_MM, HOLE_MM = 6.0, 4.0
#: Radii that a start circle can have.
RANGE_MM = (5.0, 1500.0)
#: A pencil's or chalk's line is from a hair to a few mm wide.
PENCIL_MOST_MM = 5.0

STEPS = (
    "Cut out the disc along the solid line, and the small hole in its middle. Lay the hole's cross on the centre mark.",
    "Trace round it: the middle of a line {pencil:g} mm wide comes to lie on the dashed circle, {radius:g} mm out.",
)


def start_template(radius_mm: float, pencil_mm: float, segments: int | None = None, turn_deg: float = 0.0) -> Template:
    """The disc of the row start circle.

    A line traced round a disc runs outside its edge by half the pencil's width, so the disc is smaller by that much.

    Parameters
    ----------
    radius_mm : float
        Where the middle of the traced line is to lie.
    pencil_mm : float
        Width of the line that the pencil draws.
    segments, turn_deg : optional
        Spokes to lay the disc by.

    Raises
    ------
    InputError
        "bad_start" or "bad_pencil".
    """
    if not RANGE_MM[0] <= radius_mm <= RANGE_MM[1]:
        raise InputError("bad_start", text=f"{radius_mm:g} mm")
    require_pencil(pencil_mm)
    cut = radius_mm - pencil_mm / 2
    spokes = [(turn_deg + 360 * k / segments) % 360 for k in range(segments)] if segments else [0, 90, 180, 270]

    def draw(sheets: Sheets) -> None:
        sheets.circle(0, 0, cut, LINE_MM)
        dashes = 2 * math.pi * radius_mm / round(2 * math.pi * radius_mm / 3)
        circle = [tuple(radius_mm * outward(float(a))) for a in range(0, 361, 1)]
        sheets.lines([circle], THIN_MM, GREY, dash=(dashes / 2, dashes / 2))
        sheets.circle(0, 0, HOLE_MM, LINE_MM)
        sheets.lines(
            [((-HOLE_MM, 0), (-1, 0)), ((1, 0), (HOLE_MM, 0)), ((0, -HOLE_MM), (0, -1)), ((0, 1), (0, HOLE_MM))],
            THIN_MM,
        )
        sheets.lines([((cut - 6) * outward(a), cut * outward(a)) for a in spokes], THIN_MM)
        words = f"first row starts {radius_mm:g} mm from the centre"
        if cut > 25:
            sheets.text(0, cut * 0.5, words, SMALL_MM, align="centre", grey=GREY)

    side = 2 * (radius_mm + AROUND_MM)
    steps = (STEPS[0], STEPS[1].format(pencil=pencil_mm, radius=radius_mm), BLADE)
    return Template(f"Start circle, radius {radius_mm:g} mm", (-side / 2, -side / 2, side, side), draw, steps)


def require_pencil(pencil_mm: float) -> None:
    """Refuse what no pencil draws."""
    if not 0 <= pencil_mm <= PENCIL_MOST_MM:
        raise InputError("bad_pencil", text=f"{pencil_mm:g} mm")
