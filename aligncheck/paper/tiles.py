"""A drawing of any size spread over sheets of paper that overlap."""

import math
from dataclasses import dataclass

from aligncheck.errors import InputError

#: Upright sheets, mm: ISO 216 and ANSI A (8 1/2 x 11 in).
PAPERS_MM: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}
#: One page as large as the drawing needs, for a print shop or a plotter.
ONE_PAGE = "one"
#: Blank border that every printer leaves alone; room for the name above the drawing, for ruler and steps below it.
BORDER_MM, HEAD_MM, FOOT_MM = 10.0, 8.0, 34.0
#: What neighbouring sheets share: room for a registration cross and for tape.
OVERLAP_MM = 15.0
#: Where along a sheet's side its two crosses stand: near the panel's edge, where little is drawn, and past the middle.
CROSSES = (0.07, 0.6)
#: A single page is at least as wide as its ruler and words need.
LEAST_WIDE_MM = 190.0


@dataclass(frozen=True)
class Tile:
    """One sheet's part of the drawing: `left`, `top`, `width`, `height` in the drawing's mm, and where it stands."""

    column: int
    row: int
    left: float
    top: float
    width: float
    height: float

    @property
    def name(self) -> str:
        """Column as a letter, row as a number: B1 lies right of A1."""
        letters = chr(ord("A") + self.column % 26)
        return (chr(ord("A") + self.column // 26 - 1) if self.column >= 26 else "") + letters + str(self.row + 1)


@dataclass(frozen=True)
class Tiling:
    """Sheets of one size, row by row, with what each shows."""

    sheet_mm: tuple[float, float]
    columns: int
    rows: int
    tiles: tuple[Tile, ...]

    def corner(self, tile: Tile) -> tuple[float, float]:
        """Where the tile's top-left corner lies on its sheet: between name and ruler, in the middle."""
        width, height = self.sheet_mm
        room = height - 2 * BORDER_MM - HEAD_MM - FOOT_MM
        return (width - tile.width) / 2, BORDER_MM + HEAD_MM + (room - tile.height) / 2


def tile(bounds: tuple[float, float, float, float], paper: str) -> Tiling:
    """Spread a drawing with bounds (left, top, width, height) over as few sheets as hold it.

    Raises
    ------
    InputError
        "bad_paper".
    """
    left, top, width, height = bounds
    if paper == ONE_PAGE:
        sheet = max(width, LEAST_WIDE_MM) + 2 * BORDER_MM, height + 2 * BORDER_MM + HEAD_MM + FOOT_MM
        return Tiling(sheet, 1, 1, (Tile(0, 0, *bounds),))
    if paper not in PAPERS_MM:
        raise InputError("bad_paper", text=paper, known=", ".join((*PAPERS_MM, ONE_PAGE)))
    short, long = PAPERS_MM[paper]
    # The upright sheet wins where both need as many.
    choices = [
        (_count(width, s[0], 0), _count(height, s[1], HEAD_MM + FOOT_MM), s) for s in ((short, long), (long, short))
    ]
    columns, rows, sheet = min(choices, key=lambda c: c[0] * c[1])
    wide = (width + (columns - 1) * OVERLAP_MM) / columns
    high = (height + (rows - 1) * OVERLAP_MM) / rows
    tiles = tuple(
        Tile(c, r, left + c * (wide - OVERLAP_MM), top + r * (high - OVERLAP_MM), wide, high)
        for r in range(rows)
        for c in range(columns)
    )
    return Tiling(sheet, columns, rows, tiles)


def _count(length: float, side: float, taken: float) -> int:
    """Sheets that a length needs along one side of the paper."""
    room = side - 2 * BORDER_MM - taken
    return 1 if length <= room else math.ceil((length - OVERLAP_MM) / (room - OVERLAP_MM))


def registration_crosses(tiling: Tiling) -> list[tuple[float, float]]:
    """Points in the drawing's mm that two or four neighbouring sheets share: two on every seam, one at each corner."""
    columns = {t.column: t for t in tiling.tiles}
    rows = {t.row: t for t in tiling.tiles}
    seams_x = [columns[c].left + OVERLAP_MM / 2 for c in range(1, tiling.columns)]
    seams_y = [rows[r].top + OVERLAP_MM / 2 for r in range(1, tiling.rows)]
    along_y = [t.top + share * t.height for t in rows.values() for share in CROSSES]
    along_x = [t.left + share * t.width for t in columns.values() for share in CROSSES]
    return [
        *((x, y) for x in seams_x for y in along_y),
        *((x, y) for y in seams_y for x in along_x),
        *((x, y) for x in seams_x for y in seams_y),
    ]
