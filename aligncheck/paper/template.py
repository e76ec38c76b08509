"""A true-scale drawing as printed sheets: name above, drawing, ruler and steps below, crosses where sheets meet."""

from collections.abc import Callable
from dataclasses import dataclass

from aligncheck.errors import InputError
from aligncheck.paper.lens_board import RULER_RANGE_MM
from aligncheck.paper.page import Sheets
from aligncheck.paper.ruler import RULER_MM, draw_ruler
from aligncheck.paper.tiles import BORDER_MM, FOOT_MM, HEAD_MM, Tile, Tiling, registration_crosses, tile

#: Lines that matter, lines that help, and what is only there to go by, mm.
LINE_MM, THIN_MM = 0.25, 0.15
GREY = 0.55
#: Arm of a registration cross and radius of its circle, mm.
CROSS_MM, CROSS_RING_MM = 4.0, 2.0
#: From line to line of small text, and its size, mm.
LEADING_MM, SMALL_MM = 4.0, 2.8

JOIN = (
    "Cut along the dashed lines, lay each sheet over its left and upper neighbour so that the crosses meet, and tape."
)


@dataclass(frozen=True)
class Template:
    """What is to be printed.

    Attributes
    ----------
    title : str
    bounds : (left, top, width, height)
        Of the drawing, in its own mm: origin at the panel's middle or the centre, x right, y down.
    draw : callable
        Draws all of it on sheets whose origin is the drawing's.
    steps : tuple of str
        What to do with it, a line each.
    """

    title: str
    bounds: tuple[float, float, float, float]
    draw: Callable[[Sheets], None]
    steps: tuple[str, ...]


def template_pdf(template: Template, paper: str = "a4", ruler_mm: float = RULER_MM) -> bytes:
    """The sheets as a vector PDF.

    Parameters
    ----------
    template : Template
    paper : str
        "a4", "a3", "letter", or "one" for one page as large as needed.
    ruler_mm : float
        What the 100 mm ruler measured on an earlier print by the same printer.

    Raises
    ------
    InputError
        "bad_paper" or "bad_ruler".
    """
    if not RULER_RANGE_MM[0] <= ruler_mm <= RULER_RANGE_MM[1]:
        raise InputError("bad_ruler", text=f"{ruler_mm:g} mm")
    tiling = tile(template.bounds, paper.lower())
    sheets = Sheets(*tiling.sheet_mm, f"aligncheck: {template.title}", RULER_MM / ruler_mm)
    for number, one in enumerate(tiling.tiles):
        if number:
            sheets.next_sheet()
        _draw_tile(sheets, template, tiling, one)
    return sheets.pdf()


def _draw_tile(sheets: Sheets, template: Template, tiling: Tiling, one: Tile) -> None:
    """One sheet with everything on it."""
    x, y = tiling.corner(one)
    with sheets.window((x, y, one.width, one.height), (x - one.left, y - one.top)):
        template.draw(sheets)
        for cross in registration_crosses(tiling):
            _draw_cross(sheets, *cross)
    _draw_seams(sheets, one, x, y)
    _draw_head(sheets, template, tiling, one)
    _draw_foot(sheets, template, tiling)


def _draw_cross(sheets: Sheets, x: float, y: float) -> None:
    """A registration cross."""
    sheets.lines([((x - CROSS_MM, y), (x + CROSS_MM, y)), ((x, y - CROSS_MM), (x, y + CROSS_MM))], THIN_MM)
    sheets.circle(x, y, CROSS_RING_MM, THIN_MM)


def _draw_seams(sheets: Sheets, one: Tile, x: float, y: float) -> None:
    """Dashed: where to cut a sheet that lies over its left or upper neighbour."""
    seams = [((x, y), (x, y + one.height))] * bool(one.column) + [((x, y), (x + one.width, y))] * bool(one.row)
    sheets.lines(seams, THIN_MM, GREY, dash=(3, 2))


def _draw_head(sheets: Sheets, template: Template, tiling: Tiling, one: Tile) -> None:
    """Name on the left, which sheet it is on the right."""
    base = BORDER_MM + HEAD_MM - 4.0
    sheets.text(BORDER_MM, base, template.title, 3.6, bold=True)
    if len(tiling.tiles) > 1:
        _draw_map(sheets, tiling, one)
        words = f"sheet {one.name}, {tiling.columns} across, {tiling.rows} down"
        sheets.text(tiling.sheet_mm[0] - BORDER_MM - 2.2 * tiling.columns - 2, base, words, 3.2, align="right")


def _draw_map(sheets: Sheets, tiling: Tiling, one: Tile) -> None:
    """Small boxes for all sheets, this one filled."""
    side = min(2.0, (HEAD_MM - 2.0) / tiling.rows)
    left, top = tiling.sheet_mm[0] - BORDER_MM - 2.2 * tiling.columns, BORDER_MM - 1.0
    for t in tiling.tiles:
        x, y = left + t.column * (side + 0.2), top + t.row * (side + 0.2)
        sheets.rectangles([(x, y, side, side)], 0.0 if t is one else 0.8)


def _draw_foot(sheets: Sheets, template: Template, tiling: Tiling) -> None:
    """Ruler, how to check it, and the steps."""
    top = tiling.sheet_mm[1] - BORDER_MM - FOOT_MM + 11.0
    draw_ruler(sheets, BORDER_MM + 1, top)
    beside = BORDER_MM + RULER_MM + 6
    sheets.text(beside, top - 3.2, "Printed at 100 %, this ruler measures 100 mm.", SMALL_MM, bold=True)
    sheets.text(beside, top + 0.4, "If not, make the sheet again with --ruler.", SMALL_MM)
    steps = list(template.steps)
    if len(tiling.tiles) > 1:
        steps.insert(0, JOIN)
    for line, words in enumerate(steps):
        sheets.text(BORDER_MM + 1, top + 6.5 + LEADING_MM * line, words, SMALL_MM)
