"""The sheet with the lens board: board, two rulers and how to use it in four lines."""

from aligncheck.errors import InputError
from aligncheck.lens.board import COLUMNS, PAPERS, ROWS, black_modules
from aligncheck.paper.page import Sheets
from aligncheck.paper.ruler import RULER_MM, draw_ruler

#: Space above the board, and from the board to the across ruler's zero line, mm.
TOP_MM, BELOW_MM = 10.0, 12.0
#: Rulers of a printer that keeps the size at all: see `aligncheck.lens.fit`.
RULER_RANGE_MM = (85.0, 115.0)

HOW = (
    ("1  Print at 100 %", "(“actual size”). If the rulers are not 100 mm long, add to step 4: --ruler 99.4x99.8mm"),
    ("2  Lay it flat,", "taped to a board or a table darker than the paper, in even light, without glare."),
    ("3  Take 8 to 12 photos", "at the zoom you use for panels: sheet filling the picture, from above and tilted"),
    ("", "to each of the four sides, once with the phone turned, and with the sheet over each picture corner."),
    ("4  Fit the lens:", "aligncheck lens fit PHOTO... (all of them). Later checks find the profile by themselves."),
)


def lens_board_pdf(paper: str = "a4", ruler_mm: float = RULER_MM) -> bytes:
    """The sheet as a vector PDF.

    Parameters
    ----------
    paper : str
        "a4", "a3" or "letter", landscape.
    ruler_mm : float
        What the 100 mm ruler measured on an earlier print by the same printer; the new one is drawn so that it comes
        out true.

    Raises
    ------
    InputError
        "bad_paper" or "bad_ruler".
    """
    sheet = PAPERS.get(paper.lower())
    if sheet is None:
        raise InputError("bad_paper", text=paper, known=", ".join(PAPERS))
    if not RULER_RANGE_MM[0] <= ruler_mm <= RULER_RANGE_MM[1]:
        raise InputError("bad_ruler", text=f"{ruler_mm:g} mm")
    sheets = Sheets(sheet.width_mm, sheet.height_mm, f"aligncheck lens board, {sheet.name}", RULER_MM / ruler_mm)
    side = sheet.square_mm
    left = (sheet.width_mm - COLUMNS * side) / 2
    sheets.rectangles(
        [(left + x * side, TOP_MM + y * side, w * side, h * side) for x, y, w, h in black_modules()],
    )
    bottom = TOP_MM + ROWS * side
    # The up ruler stands beside the board, thin and pale, so that a photo still sees the sheet's own side behind it.
    draw_ruler(sheets, left - 2.5, bottom, "up", grey=0.4)
    draw_ruler(sheets, left, bottom + BELOW_MM)
    _words(
        sheets, left, bottom + BELOW_MM + 6.5, f"{sheet.name}, squares of {side:g} mm, {COLUMNS} x {ROWS}", left + 112
    )
    return sheets.pdf()


def _words(sheets: Sheets, left: float, top: float, name: str, beside: float) -> None:
    """Name and scale beside the ruler, the four steps below it."""
    sheets.text(beside, top - 8.6, f"aligncheck lens board · {name}", 3.2, bold=True)
    sheets.text(beside, top - 4.4, "Both rulers must measure 100 mm from the first mark to the last.", 2.8)
    for line, (start, rest) in enumerate(HOW):
        y = top + 3.7 * line
        sheets.text(left, y, start, 2.8, bold=True)
        sheets.text(left + 36, y, rest, 2.8)
